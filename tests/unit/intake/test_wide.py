"""Wide exports: what a profile may say of them, each message as a person reads it."""

from pathlib import Path

import pytest
from intake_cases import ZONE, file_of

from pipelines.errors import SettingsError
from pipelines.intake.ingestion import ingest
from pipelines.intake.profiles import load_profile

FIXTURE = Path(__file__).parents[3] / "fixtures" / "wide-curves" / "curve-wide.toml"
TEXT = FIXTURE.read_text(encoding="utf-8")


def profile(tmp_path: Path, *changes: tuple[str, str]):
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return load_profile(path)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("?P<sheet_id>", "?P<sheat_id>", "wide.sheat_id: tensile_curve records have no such quantity"),
        ("(?P<specimen_no>\\\\d+)", "\\\\d+", "need 'specimen_no'"),
        ('unit = "N"', 'unit = "mm"', "wide.force: unit: 'mm' cannot be converted to 'N'"),
        ('quantity = "force"\nunit = "N"', "", "give either quantity (with its unit) or a table of quantities"),
        ("direction = { MD", "side = { MD", "values.side: header has no such group"),
        ('header = "^(?P<sheet_id>[^/]+)/(?P<direction>[LT])/(?P<specimen_no>\\\\d+)$"', 'header = "S1"',
         "header needs a named group"),
        ('elongation = { from = "Way", unit = "mm" }',
         'elongation = { from = "Way", unit = "mm" }\nsheet_id = "Way"', "wide.sheet_id: columns gives it too"),
    ],
)  # fmt: skip
def test_errors_of_a_wide_table_are_named(tmp_path: Path, old: str, new: str, message: str) -> None:
    with pytest.raises(SettingsError) as raised:
        profile(tmp_path, (old, new))
    assert message in str(raised.value)


THICKNESS = """
record = "thickness"
tester = "m"
[recognise]
header = ["Sheet"]
[dialect]
delimiter = ";"
decimal = ","
units_row = true
[wide]
header = "^T(?P<position_no>\\\\d)$"
quantity = "thickness"
unit = "um"
[columns]
sheet_id = "Sheet"
sheets_in_pack = { value = 1 }
"""


def test_several_readings_in_a_row_are_records_of_one_line(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(THICKNESS)
    file = file_of(b"Sheet;T1;T2;T3\n;um;um;um\nA;90,5;91;\nB;x;93;94\n;95;;\n", "a.csv")
    result = ingest([file], [load_profile(path)], ZONE)
    (outcome,), ((_, frame),) = result.outcomes, result.records
    rows = frame[["line_number", "sheet_id", "position_no", "thickness_um", "n_lines"]].to_numpy().tolist()
    assert sorted(rows) == [
        [3, "A", 1, 90.5, 1],
        [3, "A", 2, 91.0, 0],
        [4, "B", 2, 93.0, 0],
        [4, "B", 3, 94.0, 0],
    ]
    assert [(reason.line_number, reason.column, reason.rule) for reason in outcome.rejections] == [
        (4, "T1", "number"), (5, "Sheet", "required"),
    ]  # fmt: skip
    assert (outcome.account.stored, outcome.account.held) == (1, 2)


def test_a_header_without_a_piece_holds_the_file(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;Remark\nmm;\n0,1;a\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert outcome.held_whole
    assert outcome.rejections[0].rule == "missing_column"
    assert "No header cell (line 2) matches" in outcome.rejections[0].what


def test_a_units_row_that_contradicts_one_piece_holds_the_file(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;S1/L/1;S1/L/2\nmm;N;kN\n0,1;1;2\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert outcome.rejections[0].rule == "units_row"
    assert "'kN' for 'S1/L/2'" in outcome.rejections[0].what


def test_a_piece_named_twice_holds_the_file(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;S1/L/1;S1/L/1\nmm;N;N\n0,1;1;2\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert outcome.rejections[0].rule == "repeated_column"


def test_files_of_other_pieces_are_kept_apart(tmp_path: Path) -> None:
    mine = profile(tmp_path)
    one = file_of(b"Series\nWay;S1/L/1\nmm;N\n0,1;1\n0,2;2\n", "a.csv")
    other = file_of(b"Series\nWay;S2/L/1\nmm;N\n0,1;3\n", "b.csv")
    result = ingest([one, other], [mine], ZONE)
    rows = {
        (row["file_hash"], row["sheet_id"], row["force_n"])
        for _, frame in result.records
        for row in frame.to_dict("records")
    }
    assert rows == {(one.file_hash, "S1", 1.0), (one.file_hash, "S1", 2.0), (other.file_hash, "S2", 3.0)}


def test_a_piece_that_lacks_a_column_holds_the_file() -> None:
    mine = load_profile(FIXTURE.parents[1] / "wide-curve-pairs" / "curve-pairs.toml")
    file = file_of(b"F S1-MD-1,x S1-MD-1,F S1-CD-1,Note\n0,0,0,a\n", "a.csv")
    (outcome,) = ingest([file], [mine], ZONE).outcomes
    assert outcome.held_whole
    assert outcome.rejections[0].what == (
        "The header (line 1) has no column of elongation for the piece direction CD, sheet_id S1, specimen_no 1."
    )


@pytest.mark.parametrize(
    ("row", "column"),
    [("a,b,1,0.5,c", "F S1-MD-1"), ("1,b,1,0.5,c", "x S1-MD-1"), ("1,0.5,1,b,c", "x S1-CD-1")],
)
def test_an_error_names_the_header_cell_of_its_piece(row: str, column: str) -> None:
    mine = load_profile(FIXTURE.parents[1] / "wide-curve-pairs" / "curve-pairs.toml")
    file = file_of(f"F S1-MD-1,x S1-MD-1,F S1-CD-1,x S1-CD-1,Note\n{row}\n".encode(), "a.csv")
    (outcome,) = ingest([file], [mine], ZONE).outcomes
    assert column in [rejection.column for rejection in outcome.rejections]


def test_an_error_of_a_shared_column_is_reported_once_per_line(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;S1/L/1;S1/L/2\nmm;N;N\nx;1;2\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert [(rejection.line_number, rejection.column) for rejection in outcome.rejections] == [(4, "Way")]
