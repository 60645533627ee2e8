"""What the titles of a trial's charts say of small sets of rows."""

from pipelines.site.trial import findings

UNIT = "N.m/g"


def response(**changes):
    found = {
        "outcome": "minimum", "minimum_jet_to_wire_ratio": 1.0251, "minimum_jet_to_wire_ratio_low": 1.0177,
        "minimum_jet_to_wire_ratio_high": 1.0322, "md_cd_ratio_at_minimum": 1.3601, "reason": None,
        "lack_of_fit_p": None,
    }  # fmt: skip
    return found | changes


def values(*numbers, direction="MD", density=650.0):
    return [
        {"direction": direction, "value": value, "apparent_density_kg_m3": density + place}
        for place, value in enumerate(numbers)
    ]


def mean(point, value, half_width=None, direction="MD"):
    ends = (None, None) if half_width is None else (value - half_width, value + half_width)
    return {
        "trial_point": point, "direction": direction, "value": value, "interval_low": ends[0], "interval_high": ends[1],
    }  # fmt: skip


def piece(reason=None):
    return {"in_means": reason is None, "left_out_because": reason}


def layer(point, number, furnish):
    return {"trial_point": point, "layer_no": number, "furnish": furnish}


def test_the_minimum_is_told_with_its_interval():
    assert findings.of_response("tensile_index", response(), values(1.4, 2.3)) == (
        "MD/CD of tensile index is lowest, 1.36, at a jet-to-wire ratio of 1.025 (95 %: 1.018 to 1.032)"
    )


def test_an_interval_that_the_fit_does_not_support_is_not_told():
    doubted = response(lack_of_fit_p=0.005)
    assert findings.of_response("tensile_index", doubted, values(1.4, 2.3)) == (
        "MD/CD of tensile index is lowest, 1.36, at a jet-to-wire ratio of 1.025 by the fitted curve, which misses the "
        "points by more than their scatter"
    )


def test_an_end_of_the_interval_beyond_the_ratios_tried_is_not_told_as_a_number():
    open_ended = response(minimum_jet_to_wire_ratio_low=None, minimum_jet_to_wire_ratio_high=None)
    assert findings.of_minimum(open_ended) == "below the lowest tried to above the highest tried"
    assert findings.of_minimum(response(outcome="no_minimum")) == "–"


def test_without_a_minimum_the_span_is_told():
    for outcome in ("no_minimum", "outside_range", "not_fitted"):
        assert findings.of_response("tea_index", response(outcome=outcome), values(1.2, 1.9)) == (
            "MD/CD of TEA index spans 1.20 to 1.90; no minimum is told"
        )
    assert findings.of_response("stretch", None, values(0.5)) == (
        "MD/CD of stretch is 0.500; no minimum is told"
    )
    assert findings.of_response("stretch", None, []) == "MD/CD of stretch was measured on no sheet"


def test_values_and_densities_are_told_by_their_ends():
    rows = values(60.04, 49.5) + values(33, 40.4, direction="CD")
    assert findings.of_density("tensile_index", UNIT, rows) == (
        "Tensile index spans 49.5 to 60.0 N·m/g in MD and 33 to 40.4 N·m/g in CD, at densities from 650 to 651 kg/m³"
    )
    assert findings.of_density("tensile_index", UNIT, values(60)) == (
        "Tensile index is 60 N·m/g in MD, at a density of 650 kg/m³"
    )
    assert findings.of_density("tensile_index", UNIT, []) == (
        "No sheet with tensile index has an apparent density"
    )


def test_the_highest_point_is_told_with_what_its_interval_overlaps():
    clear = [mean("A", 60, 1), mean("B", 50, 2), mean("A", 30, 3, "CD"), mean("B", 35, 3, "CD")]
    assert findings.of_points("tensile_index", UNIT, clear) == (
        "Tensile index is highest at A in MD (60 N·m/g, its interval clear of all others) and at B in CD (35 N·m/g, "
        "its interval overlaps 1 other)"
    )


def test_a_point_of_one_sheet_never_counts_as_clear():
    assert "one sheet, so without an interval" in findings.of_points(
        "stretch", "%", [mean("A", 3), mean("B", 2, 0.1)]
    )
    assert "overlaps 1 other" in findings.of_points("stretch", "%", [mean("A", 3, 0.1), mean("B", 2)])
    alone = [mean("A", 2.5, direction="CD"), mean("A", 3)]
    assert findings.of_points("stretch", "%", alone) == "Stretch is 3 % in MD and 2.50 % in CD"
    assert findings.of_points("stretch", "%", []) == "Stretch has no mean"


def test_pieces_left_out_are_counted_by_reason():
    assert findings.of_strips([piece(), piece()], 1) == "2 test pieces of 1 sheet; all count in means"
    left_out = (
        [piece("clamp_break, unverified")] * 4
        + [piece("off_standard")] * 3
        + [piece("unverified")] * 2
        + [piece("defect")]
    )
    assert findings.of_strips([piece(), *left_out], 2) == (
        "11 test pieces of 2 sheets; 10 hollow ones not in means: 4 clamp break and unverified, 3 off standard, "
        "2 unverified, 1 for other reasons"
    )


def test_layers_are_counted():
    assert (
        findings.of_layers([layer("A", 1, "F1"), layer("B", 1, "F2")])
        == "Sheets of one layer, from 2 furnishes"
    )
    assert findings.of_layers([layer("A", 1, "F1"), layer("A", 2, "F2"), layer("B", 1, "F1")]) == (
        "Up to 2 layers in 1 of 2 trial points, from 2 furnishes"
    )
    assert findings.of_layers([layer("A", 1, None)]) == "Sheets of one layer, from 0 furnishes"
