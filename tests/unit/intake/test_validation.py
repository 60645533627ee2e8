"""Rows that may not be stored: each rule's message, several faults of one line, contradictions within a file."""

import pytest
from intake_cases import THICKNESS, held, ingest_one, profile

from pipelines.intake.validation import ERRORS_PER_LINE, INVALID_LINES_PER_FILE

HEADER = "Sheet;Place;Thickness;Note\n"
WEIGHT = profile(
    """
record = "basis_weight"
tester = "scale"
[recognise]
header = ["Sheet", "Grams"]
[dialect]
encoding = "utf-8"
delimiter = ";"
decimal = ","
preamble = 0
[columns]
sheet_id = "Sheet"
specimen_no = "Piece"
state = { from = "State", values = { conditioned = ["c"], oven_dry = ["o"] } }
mass = { from = "Grams", unit = "g" }
area = { from = "cm2", unit = "cm2" }
length = { from = "Long mm", unit = "mm" }
width = { from = "Wide mm", unit = "mm" }
tested_at = { from = "When", format = "%d.%m.%Y %H:%M" }
""",
    "weight",
)
WEIGHT_HEADER = "Sheet;Piece;State;Grams;cm2;Long mm;Wide mm;When\n"


def only_reason(data, used=None):
    outcome, _ = ingest_one(data, used or profile())
    (reason,) = outcome.rejections
    return reason


@pytest.mark.parametrize(
    ("row", "rule", "column", "value", "what"),
    [
        ("A;1;-90;", "range", "Thickness", "-90", "Thickness must be greater than 0 µm; it is -90 µm."),
        ("A;1;0;", "range", "Thickness", "0", "Thickness must be greater than 0 µm; it is 0 µm."),
        ("A;1;60000;", "range", "Thickness", "60000", "Thickness must be at most 50000 µm; it is 60000 µm."),
        ("A;0;90;", "range", "Place", "0", "Position no must be at least 1; it is 0."),
        ("A;1,5;90;", "number", "Place", "1,5", "'1,5' is not a whole number."),
        ("A;x;90;", "number", "Place", "x", "'x' is not a whole number."),
        ("A;1;90.5;", "number", "Thickness", "90.5", "'90.5' is not a number with the decimal mark ','."),
        (";1;90;", "required", "Sheet", None, "Sheet id is missing."),
        ("A;;90;", "required", "Place", None, "Position no is missing."),
        ("A;1; ;", "required", "Thickness", " ", "Thickness is missing."),
        (
            f"{'A' * 81};1;90;", "length", "Sheet", "A" * 81,
            "Sheet id must be at most 80 characters long; it is 81 characters long.",
        ),
    ],
)  # fmt: skip
def test_a_broken_rule_is_reported_in_words_and_units(row, rule, column, value, what):
    reason = only_reason(HEADER + row + "\n")
    assert (reason.rule, reason.column, reason.cell, reason.what) == (rule, column, value, what)
    assert (reason.line_number, reason.original_text) == (2, row)


def test_a_thousands_mark_is_named_too():
    text = THICKNESS.replace('decimal = ","', 'decimal = ","\nthousands = "."')
    reason = only_reason(HEADER + "A;1;12.34;\n", profile(text))
    assert reason.what == "'12.34' is not a number with the decimal mark ',' and the thousands mark '.'."


def test_a_range_is_checked_in_the_models_unit_and_shows_the_original_cell():
    reason = only_reason(WEIGHT_HEADER + "A;1;c;3,1;50000;;;\n", WEIGHT)
    assert (reason.column, reason.cell) == ("cm2", "50000")
    assert reason.what == "Area must be at most 4000000 mm²; it is 5000000 mm²."


def test_an_unknown_code_names_the_known_ones():
    reason = only_reason(WEIGHT_HEADER + "A;1;wet;3,1;500;;;\n", WEIGHT)
    assert reason.what == "'wet' is not one of the profile's codes: 'c', 'o'."
    assert reason.remedy.endswith(" Or add the code to columns.state.values in the profile weight.")


def test_a_code_without_a_mapping_must_be_one_of_the_models():
    text = """
record = "drying"
[recognise]
header = ["Sheet", "How"]
[columns]
sheet_id = "Sheet"
step_no = { value = 1 }
method = "How"
"""
    reason = only_reason("Sheet;How\nA;grill\n", profile(text))
    assert (reason.rule, reason.cell) == ("code", "grill")
    assert reason.what == "Method must be one of cylinder, plate, air, oven; it is 'grill'."


def test_a_rule_over_several_columns():
    reason = only_reason(WEIGHT_HEADER + "A;1;c;3,1;;250;;\n", WEIGHT)
    assert (reason.rule, reason.column) == ("row_rule", None)
    assert reason.what == "Give mass with an area or both sides, or a grammage."


def test_a_rule_over_several_columns_is_not_reported_beside_an_unreadable_cell():
    outcome, _ = ingest_one(WEIGHT_HEADER + "A;1;c;3,1;50O;;;\n", WEIGHT)
    assert held(outcome) == [(2, "number")]


@pytest.mark.parametrize(
    ("when", "rule", "what"),
    [
        ("31.02.2026 10:00", "time",
            "'31.02.2026 10:00' is not a time like '31.12.2026 23:59' (format '%d.%m.%Y %H:%M')."),
        (
            "29.03.2026 03:30", "clock_change",
            "'29.03.2026 03:30' does not exist in Europe/Helsinki: the clocks went forward.",
        ),
        (
            "25.10.2026 03:30", "clock_change",
            "'25.10.2026 03:30' occurred twice in Europe/Helsinki: the clocks went back.",
        ),
    ],
)  # fmt: skip
def test_times(when, rule, what):
    reason = only_reason(f"{WEIGHT_HEADER}A;1;c;3,1;500;;;{when}\n", WEIGHT)
    assert (reason.rule, reason.what) == (rule, what)


def test_every_fault_of_a_line_is_named_up_to_a_number():
    outcome, frame = ingest_one(WEIGHT_HEADER + ";x;?;-;a;b;c;d\nA;1;c;3,1;500;;;\n", WEIGHT)
    assert held(outcome)[:1] == [(2, "number")]
    assert len(outcome.rejections) == ERRORS_PER_LINE
    assert outcome.account.held == 1
    assert frame["line_number"].tolist() == [3]


def test_an_unreadable_cell_is_not_reported_as_missing_too():
    assert only_reason(HEADER + "A;1;thick;\n").rule == "number"


def test_rows_beside_a_held_one_are_stored():
    outcome, frame = ingest_one(HEADER + "A;1;90;\nA;2;x;\nA;3;91;\n")
    assert frame["line_number"].tolist() == [2, 4]
    assert (outcome.account.stored, outcome.account.held) == (2, 1)


def test_rows_that_measure_the_same_thing_differently_are_all_held():
    """Nothing is stated of replicates or times, so the key has missing parts."""
    outcome, frame = ingest_one(HEADER + "A;1;90;\nA;2;91;\nA;1;90,5;\nA;1;90;\n")
    assert frame["line_number"].tolist() == [3]
    assert held(outcome) == [(2, "contradiction"), (4, "contradiction"), (5, "contradiction")]
    assert outcome.rejections[0].what == (
        "Lines 2, 4 and 5 give different values for the same measurement (Sheet A, Place 1, sheets_in_pack 1)."
    )


def test_rows_that_only_repeat_each_other_are_stored():
    outcome, frame = ingest_one(HEADER + "A;1;90;\nA;1;90;\n")
    assert frame["line_number"].tolist() == [2, 3]
    assert held(outcome) == []


def test_measurements_at_different_times_do_not_contradict():
    rows = "A;1;c;3,1;500;;;01.07.2026 10:00\nA;1;c;3,2;500;;;01.07.2026 10:05\n"
    outcome, frame = ingest_one(WEIGHT_HEADER + rows, WEIGHT)
    assert held(outcome) == []
    assert len(frame) == 2


def test_a_held_row_contradicts_no_other():
    outcome, frame = ingest_one(HEADER + "A;1;90;\nA;1;-90;\n")
    assert held(outcome) == [(3, "range")]
    assert frame["line_number"].tolist() == [2]


def test_values_of_two_files_do_not_contradict_each_other():
    for thickness in ("90", "91"):
        outcome, _ = ingest_one(f"{HEADER}A;1;{thickness};\n")
        assert held(outcome) == []


def test_ambiguous_numbers_hold_the_whole_file():
    outcome, frame = ingest_one(
        HEADER + "A;1;1.234;\nA;x;90;\n", profile(THICKNESS.replace('decimal = ","\n', ""))
    )
    assert held(outcome) == [(None, "number_marks")]
    assert outcome.rejections[0].cell == "1.234"
    assert "the mark in '1.234' may be a decimal or a thousands mark" in outcome.rejections[0].what
    assert (outcome.account.held, outcome.account.lines) == (3, 3)
    assert frame.empty


@pytest.mark.parametrize("faulty", [INVALID_LINES_PER_FILE, INVALID_LINES_PER_FILE + 1])
def test_a_file_with_too_many_faulty_lines_is_on_hold_with_one_reason(faulty):
    good = "A;1;90;\n"
    outcome, frame = ingest_one(HEADER + good + "A;2;-90;\n" * faulty)
    if faulty > INVALID_LINES_PER_FILE:
        assert [line for line, _ in held(outcome)] == [None]
        assert f"{faulty}" in outcome.rejections[0].what.replace(",", "")
        assert outcome.account.held == outcome.account.lines == faulty + 2
        assert frame.empty
    else:
        assert len(held(outcome)) == faulty
        assert frame["line_number"].tolist() == [2]


def test_a_contradiction_shows_the_measurement_as_the_export_writes_it():
    rows = "A;1;c;3,1;500;;;01.07.2026 10:00\nA;1;c;3,2;500;;;01.07.2026 10:00\n"
    outcome, _ = ingest_one(WEIGHT_HEADER + rows, WEIGHT)
    assert outcome.rejections[0].what == (
        "Lines 2 and 3 give different values for the same measurement "
        "(Sheet A, Piece 1, State c, When 01.07.2026 10:00)."
    )


def test_a_cell_of_several_columns_is_shown_as_the_export_writes_it():
    text = THICKNESS.replace('sheet_id = "Sheet"', 'sheet_id = { from = ["Sheet", "Note"], join = "-" }')
    reason = only_reason(f"{HEADER}{'A' * 79};1;90;B\n", profile(text.replace('note = "Note"\n', "")))
    assert (reason.rule, reason.column, reason.cell) == ("length", "Sheet + Note", f"{'A' * 79}-B")


def test_a_rule_that_asks_a_question_ends_with_it():
    text = """
record = "moisture"
tester = "oven"
[recognise]
header = ["Sheet", "Before", "After"]
[columns]
sheet_id = "Sheet"
specimen_no = { value = 1 }
mass_before = { from = "Before", unit = "g" }
mass_after = { from = "After", unit = "g" }
"""
    reason = only_reason("Sheet;Before;After\nA;3;4\n", profile(text))
    assert reason.what == "The mass after drying must not exceed the mass before: swapped columns?"


CURVE = profile(
    """
record = "tensile_curve"
tester = "pull"
[recognise]
header = ["Sheet", "No.", "Way", "Force"]
[dialect]
encoding = "utf-8"
delimiter = ";"
decimal = ","
preamble = 0
[columns]
sheet_id = "Sheet"
direction = { value = "MD" }
specimen_no = "No."
elongation = { from = "Way", unit = "mm" }
force = { from = "Force", unit = "N" }
""",
    "curve",
)
CURVE_ROWS = [
    "A;1;0,1;20",
    "A;1;0,2;40",
    "A;1;0,3;60",
    "A;2;0,1;21",
    "A;2;0,2;41",
    "A;3;0,1;22",
    "A;3;0,2;42",
]


@pytest.mark.parametrize(
    ("place", "row", "left", "is_or_may_be"),
    [
        (2, "A;1;0,3;6O", {2, 3}, "is"),  # the highest force: what is left would count with 40 N
        (2, "A;1;0,3;60000", {2, 3}, "is"),
        (3, "A;1x;0,1;21", {3}, "may be"),
        (4, "A;2;0,2", {1}, "may be"),
        (0, "A;1;;20", {2, 3}, "is"),
    ],
)
def test_a_curve_with_a_line_on_hold_is_not_imported(place, row, left, is_or_may_be):
    rows = [*CURVE_ROWS[:place], row, *CURVE_ROWS[place + 1 :]]
    outcome, frame = ingest_one("\n".join(["Sheet;No.;Way;Force", *rows, ""]), CURVE)
    assert set(frame["specimen_no"]) == left
    assert outcome.account.stored == len(frame)
    assert outcome.account.held == len(rows) - len(frame)
    curves = [reason for reason in outcome.rejections if reason.rule == "incomplete_curve"]
    assert len(curves) == 3 - len(left)
    assert all(
        f" {is_or_may_be} incomplete: line {place + 2} is on hold." in reason.what for reason in curves
    )


def test_an_incomplete_curve_names_its_piece_and_its_line():
    outcome, _ = ingest_one("Sheet;No.;Way;Force\nA;1;0,1;20\nA;1;0,2;x\nA;1;0,3;60\n", CURVE)
    assert held(outcome) == [(2, "incomplete_curve"), (3, "number")]
    assert outcome.rejections[0].what == (
        "The curve of Sheet A, direction MD, No. 1 is incomplete: line 3 is on hold. So its other 2 points are on hold "
        "too."
    )


def test_of_curves_side_by_side_the_one_with_a_bad_point_is_not_imported():
    wide = profile(
        """
record = "tensile_curve"
tester = "pull"
[recognise]
header = ["Way"]
[dialect]
decimal = ","
delimiter = ";"
[wide]
header = '^(?P<sheet_id>.+)/(?P<specimen_no>\\d)$'
quantity = "force"
unit = "N"
[columns]
direction = { value = "MD" }
elongation = { from = "Way", unit = "mm" }
""",
        "wide",
    )
    data = "Way;A/1;A/2;A/3\n0,1;20;21;22\n0,2;40;41;42\n0,3;6O;;62\n"
    outcome, frame = ingest_one(data, wide)
    assert frame["specimen_no"].tolist() == [2, 2, 3, 3, 3]
    assert (outcome.account.stored, outcome.account.held) == (1, 2)
    assert held(outcome) == [(2, "incomplete_curve"), (4, "number")]
