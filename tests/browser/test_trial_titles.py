"""The titles of a trial's figures, for a few rows and for none: each title is true for its rows."""

import pytest

from pipelines.site import links

INDEX = {"name": "Tensile index", "in_text": "tensile index", "unit": "N·m/g"}
DENSITY = {"in_text": "apparent density", "unit": "kg/m³", "names": False}


@pytest.fixture
def title(opened):
    page = opened(links.trial_page("jet-to-wire ladder"))
    return lambda name, *arguments: page.evaluate(
        "([name, parts]) => sheetloreTitles[name](...parts)", [name, list(arguments)]
    )


def mean(point, value, half=None, direction="MD"):
    ends = {"low": None, "high": None} if half is None else {"low": value - half, "high": value + half}
    return {"trial_point": point, "direction": direction, "value": value, "half": half, "u": half, **ends}


def sheet(sheet_id, value, x=650.0, direction="MD"):
    return {"sheet_id": sheet_id, "direction": direction, "value": value, "u": None, "x": x}


def piece(reason=None):
    return {"in_means": reason is None, "left_out_because": reason}


def fit(**changes):
    found = {
        "outcome": "minimum", "reason": None, "minimum_jet_to_wire_ratio": 1.0251,
        "minimum_jet_to_wire_ratio_low": 1.0177, "minimum_jet_to_wire_ratio_high": 1.0322,
        "md_cd_ratio_at_minimum": 1.3601, "md_cd_ratio_at_minimum_low": 1.325, "md_cd_ratio_at_minimum_high": 1.395,
    }  # fmt: skip
    return found | changes


def test_the_highest_trial_point_is_named_where_its_interval_is_clear_of_all_others(title):
    rows = [mean("A", 60, 1.2), mean("B", 50, 2), mean("A", 30, 3, "CD"), mean("B", 40, 3, "CD")]
    assert title("points", INDEX, rows, 2, 2) == (
        "Tensile index is highest in MD at A (60.0 N·m/g, 95 % interval 58.8-61.2); in CD at B "
        "(40.0 N·m/g, 95 % interval 37.0-43.0)"
    )


def test_the_title_says_when_only_some_trial_points_are_shown(title):
    rows = [mean("A", 60, 1.2), mean("B", 50, 2)]
    assert title("points", INDEX, rows, 2, 7) == (
        "Of 2 of 7 trial points, tensile index is highest in MD at A (60.0 N·m/g, 95 % interval 58.8-61.2)"
    )


def test_intervals_that_overlap_decide_nothing(title):
    rows = [mean("A", 60, 5), mean("B", 58, 5), mean("C", 30, 5)]
    text = title("points", INDEX, rows, 3, 3)
    assert text == (
        "Tensile index: in MD the highest is not decided by these data, intervals of A and B overlap"
    )
    many = [mean(str(number), 60 - number, 50) for number in range(9)]
    assert "intervals of 0, 1, 2 and 6 others overlap" in title("points", INDEX, many, 9, 9)


def test_a_trial_point_of_one_sheet_is_never_the_highest(title):
    rows = [mean("A", 90), mean("B", 60, 1.2), mean("C", 50, 1.2)]
    assert title("points", INDEX, rows, 3, 3) == (
        "Tensile index is highest in MD at B (60.0 N·m/g, 95 % interval 58.8-61.2, of the 2 trial points with an "
        "interval)"
    )
    assert title("points", INDEX, [mean("A", 90), mean("B", 60)], 2, 2) == "Tensile index, 2 trial points"
    assert (
        title("points", INDEX, [mean("A", 90), mean("B", 60, 1)], 2, 5)
        == "Tensile index, 2 of 5 trial points"
    )


def test_titles_for_one_trial_point_and_for_none(title):
    rows = [mean("A", 60.04, 1.2), mean("A", 33, direction="CD")]
    assert title("points", INDEX, rows, 1, 4) == (
        "Tensile index of A: 60.0 N·m/g, 95 % interval 58.8-61.2 in MD; 33.0 N·m/g in CD"
    )
    assert title("points", INDEX, [], 0, 4) == "Tensile index: no mean in 0 of 4 trial points"


def test_the_title_of_sheets_against_an_axis_has_both_ranges(title):
    rows = [sheet("1", 49.5), sheet("2", 60.04, 651.0), sheet("1", 33, direction="CD")]
    assert title("against", INDEX, DENSITY, rows, rows, 2) == (
        "Tensile index against apparent density, 2 sheets: 49.5-60.0 N·m/g in MD, 33.0 N·m/g in CD, at 650-651 kg/m³"
    )
    assert title("against", INDEX, DENSITY, rows, rows[1:2], 5) == (
        "Tensile index against apparent density, 1 chosen of 2 sheets: 60.0 N·m/g in MD, at 651 kg/m³"
    )
    wide = [sheet("1", 92.3, 20), sheet("2", 110, 120)]
    assert title("against", INDEX, DENSITY, wide, wide, 2).endswith(
        "2 sheets: 92-110 N·m/g in MD, at 20-120 kg/m³"
    )
    assert title("against", INDEX, DENSITY, [], [], 5) == (
        "Tensile index against apparent density: no sheet shown has both"
    )


def test_a_minimum_is_named_with_its_interval_as_the_table_has_it(title):
    rows = [sheet("1", 1.4), sheet("2", 2.3)]
    assert title("response", INDEX, fit(), rows, rows, True) == (
        "MD/CD of tensile index is lowest, 1.360 (95 % interval 1.325-1.395), at a jet-to-wire ratio of 1.0251 "
        "(95 % interval 1.0177-1.0322)"
    )
    open_ended = fit(minimum_jet_to_wire_ratio_low=None)
    assert title("response", INDEX, open_ended, rows, rows, True).endswith(
        "1.0251 (95 % interval from below the lowest tried to 1.0322)"
    )


@pytest.mark.parametrize("outcome", ["no_minimum", "outside_range", "not_fitted"])
def test_without_a_minimum_none_is_named(title, outcome):
    rows = [sheet("1", 1.4), sheet("2", 2.3)]
    assert title("response", INDEX, fit(outcome=outcome), rows, rows, True) == (
        "MD/CD of tensile index is 1.40-2.30 in 2 sheets; no minimum found"
    )


def test_a_doubtful_fit_or_one_of_other_sheets_names_no_minimum(title):
    rows = [sheet("1", 1.4), sheet("2", 2.3)]
    doubted = fit(
        reason="The trial points lie further off the curve than the scatter of their sheets explains."
    )
    assert title("response", INDEX, doubted, rows, rows, True) == (
        "MD/CD of tensile index is 1.40-2.30 in 2 sheets; the fitted curve does not suit, no minimum stated"
    )
    assert (
        title("response", INDEX, fit(), rows, rows, False)
        == "MD/CD of tensile index is 1.40-2.30 in 2 sheets"
    )
    assert title("response", INDEX, fit(), rows, rows[:1], True) == (
        "MD/CD of tensile index is 1.40 in 1 chosen of 2 sheets"
    )
    assert title("response", INDEX, None, [], [], True) == (
        "MD/CD of tensile index: no sheet shown has one and a jet-to-wire ratio"
    )


def test_drawn_test_pieces_are_counted(title):
    count = {"without": 0, "sheets": 1, "allSheets": 1, "allPieces": 2}
    assert title("strips", INDEX, [piece(), piece()], count) == (
        "2 test pieces of 1 sheet: all drawn count in the means"
    )
    left_out = (
        [piece("clamp_break, unverified")] * 4 + [piece("off_standard")] * 3 + [piece("unverified")] * 2
    )
    assert title(
        "strips", INDEX, [piece(), *left_out, piece(None) | {"in_means": False}], count | {"without": 3}
    ) == (
        "11 test pieces of 1 sheet: 1 count in the means, 10 hollow do not (4 clamp break and unverified, 3 off "
        "standard, 2 unverified, 1 for other reasons); 3 without tensile index not drawn"
    )
    cut = {"without": 0, "sheets": 80, "allSheets": 300, "allPieces": 6000}
    assert title("strips", INDEX, [piece()] * 1600, cut) == (
        "1600 of 6000 test pieces, those of the last 80 of 300 sheets: all drawn count in the means"
    )


def test_layers_are_counted(title):
    rows = [
        {"layer_no": 1, "furnish": "F1"},
        {"layer_no": 2, "furnish": "F2"},
        {"layer_no": 1, "furnish": None},
    ]
    assert title("layers", rows, 2, 2) == "Up to 2 layers from 2 furnishes, 2 trial points"
    assert title("layers", [], 0, 2) == "Layers, 0 of 2 trial points: no mass known"
