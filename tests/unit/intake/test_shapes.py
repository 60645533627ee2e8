"""Exports of other shapes than one table: each reads back what was written, and its faults are named."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from intake_cases import THICKNESS, ZONE, assert_all_is_accounted_for, file_of, held, ingest_one, profile

from pipelines.intake.ingestion import ingest

BLOCKS = profile(
    """
record = "thickness"
tester = "micrometer"
[recognise]
header = ["Place", "Thickness"]
[dialect]
delimiter = ";"
decimal = ","
units_row = true
footer = "^Mean"
[block]
begin = "^Sample:"
[preamble.values]
sheet_id = { line = "^Sample: *(.+)$" }
operator = { line = "^Operator: *(.+)$" }
[columns]
position_no = "Place"
thickness = { from = "Thickness", unit = "um" }
sheets_in_pack = { value = 1 }
note = "Note"
""",
    "blocks",
)
FIRST = "Sample: A\nPlace;Thickness;Note\n;um;\n1;90;x\n2;91;\nMean;90,5;\n\n"
SECOND = 'Sample: B\nOperator: CD\nThickness;Note;Place;Spare\num;;;\n92;"y;\nz";1;\n'


def rows(frame, *columns):
    return [tuple(row) for row in frame[list(columns)].itertuples(index=False)]


def test_each_block_has_its_own_preamble_header_units_and_summaries():
    outcome, frame = ingest_one(f"Operator: AB\n{FIRST}{SECOND}", BLOCKS)
    assert held(outcome) == []
    assert rows(frame, "line_number", "sheet_id", "position_no", "thickness_um", "note", "operator")[::2] == [
        (5, "A", 1, 90.0, "x", "AB"),
        (13, "B", 1, 92.0, "y;\nz", "CD"),
    ]
    counts = {name: count for name, count in vars(outcome.account).items() if count}
    assert counts == {
        "lines": 14, "preamble": 4, "header": 2, "units_row": 2, "footer": 1, "blank": 1, "continuation": 1,
        "stored": 3,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "rule", "what"),
    [
        (FIRST + "Sample: B\n1;92;\n", "missing_header", "The block that begins on line 8 ('Sample: B') has no header"),
        (FIRST + SECOND.replace("um;;;", "mm;;;"), "units_row", "The units row (line 11) gives 'mm' for 'Thickness'"),
        (FIRST + "Operator: CD\n", None, ""),
        (FIRST.replace("Sample: A", "Sample: A\nOperator: AB") + "Operator: CD\n", "preamble_value", "operator has"),
        ("Sample A\n" + FIRST.partition("\n")[2], "no_profile", "The file matches no export profile."),
        (FIRST + SECOND.replace("Note;", ""), "missing_column", "The header (line 10) has no column 'Note'"),
    ],
)  # fmt: skip
def test_a_faulty_block_holds_the_file(text, rule, what):
    outcome, _ = ingest_one(text, BLOCKS)
    if rule is None:
        assert held(outcome) == [(8, "field_count")]
        return
    assert held(outcome) == [(None, rule)]
    assert what in outcome.rejections[0].what


TWO_LEVELS = profile(
    THICKNESS.replace("preamble = 0", "header_rows = 2")
    .replace('["Sheet", "Thickness"]', '["Sheet", "Thickness um"]')
    .replace('"Place"', '"Thickness place"')
    .replace('from = "Thickness"', 'from = "Thickness um"')
)


def test_a_header_of_two_levels_is_read_as_one():
    outcome, frame = ingest_one("Sheet;Thickness;;Note\n;place;um;\nA;1;90;x\n", TWO_LEVELS)
    assert held(outcome) == []
    assert rows(frame, "line_number", "sheet_id", "position_no", "thickness_um", "note") == [
        (3, "A", 1, 90.0, "x")
    ]
    assert outcome.account.header == 2


def test_a_file_that_ends_within_the_header_is_no_match():
    outcome, _ = ingest_one("Sheet;Thickness;;Note\n", TWO_LEVELS)
    assert held(outcome) == [(None, "no_profile")]


NAME = st.text("ABCxyz0123-/ ", min_size=1, max_size=8).map(str.strip).filter(bool)
READINGS = st.lists(st.integers(1, 4999), min_size=1, max_size=5)
SHEETS = st.dictionaries(NAME, READINGS, min_size=1, max_size=4)


def read_back(text, used):
    """Return the readings of each sheet, by position."""
    result = ingest([file_of(text.encode())], [used], ZONE)
    assert_all_is_accounted_for(result)
    assert held(result.outcomes[0]) == []
    found = {}
    for _, frame in result.records:
        for sheet, place, value in rows(frame, "sheet_id", "position_no", "thickness_um"):
            found.setdefault(sheet, {})[place] = value
    return {sheet: [values[place] for place in sorted(values)] for sheet, values in found.items()}


@settings(max_examples=40, deadline=None)
@given(SHEETS, st.booleans())
def test_blocks_read_back_what_was_written(sheets, blank):
    text = ""
    for sheet, readings in sheets.items():
        text += f"Sample: {sheet}\nPlace;Thickness;Note\n;um;\n"
        text += "".join(f"{place};{value};\n" for place, value in enumerate(readings, start=1))
        text += "\n" * blank
    assert read_back(text, BLOCKS) == sheets


TRANSPOSED = profile(
    """
record = "thickness"
tester = "micrometer"
[recognise]
header = ["Sample", "Thickness"]
[dialect]
delimiter = ";"
decimal = ","
footer = "^Signed"
[transpose]
units = true
[preamble.values]
operator = { line = "^Operator: *(.+)$" }
[columns]
sheet_id = "Sample"
position_no = "Place"
thickness = { from = "Thickness", unit = "um" }
sheets_in_pack = { value = 1 }
""",
    "transposed",
)
TABLE = "Operator: AB\n\nSample;;A;A;B\nPlace;;1;2;1\n\nThickness;um;90,5;x;92\nSpare;;;;\nSigned;;;;\n"


def test_a_transposed_table_has_a_record_for_each_column():
    outcome, frame = ingest_one(TABLE, TRANSPOSED)
    assert rows(frame, "line_number", "sheet_id", "position_no", "thickness_um", "operator") == [
        (3, "A", 1, 90.5, "AB"),
        (3, "B", 1, 92.0, "AB"),
    ]
    (reason,) = outcome.rejections
    assert (reason.line_number, reason.column, reason.cell, reason.original_text) == (
        3, "Thickness", "x", "Thickness;um;90,5;x;92",
    )  # fmt: skip
    assert reason.what == "'x' is not a number with the decimal mark ','. (Line 6, column 4.)"
    counts = {name: count for name, count in vars(outcome.account).items() if count}
    assert counts == {"lines": 8, "preamble": 2, "blank": 1, "footer": 1, "continuation": 3, "held": 1}


@pytest.mark.parametrize(
    ("text", "rule", "what"),
    [
        (TABLE.replace(";um;", ";mm;"), "units_row", "gives 'mm' for 'Thickness'"),
        (TABLE.replace("Place;", "Spot;"), "missing_column", "has no column 'Place'"),
        (TABLE + "Place;;1;2;3\n", "repeated_column", "has column 'Place' more than once"),
        ("Sample;;\nPlace;;\nThickness;um;\n", "no_data_rows", "no data rows"),
        (TABLE.replace("x", '"x'), "open_quote", "Line 6: A quotation mark"),
    ],
)
def test_a_faulty_transposed_table_holds_the_file(text, rule, what):
    outcome, _ = ingest_one(text, TRANSPOSED)
    assert held(outcome) == [(None, rule)]
    assert what in outcome.rejections[0].what


@settings(max_examples=40, deadline=None)
@given(SHEETS)
def test_transposed_tables_read_back_what_was_written(sheets):
    pieces = [
        (sheet, place, value)
        for sheet, readings in sheets.items()
        for place, value in enumerate(readings, start=1)
    ]
    lines = [
        ["Sample", "", *(piece[0] for piece in pieces)],
        ["Place", "", *(str(piece[1]) for piece in pieces)],
    ]
    lines.append(["Thickness", "um", *(str(piece[2]) for piece in pieces)])
    assert read_back("\n".join(map(";".join, lines)) + "\n", TRANSPOSED) == sheets
