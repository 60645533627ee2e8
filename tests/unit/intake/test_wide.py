"""Wide exports: what a profile may say of them, each message as a person reads it."""

from pathlib import Path

import pytest
from intake_cases import ZONE, file_of

from pipelines.errors import SettingsError
from pipelines.intake.ingestion import ingest
from pipelines.intake.profiles import load_one

FIXTURE = Path(__file__).parents[3] / "fixtures" / "wide-curves" / "curve-wide.toml"
TEXT = FIXTURE.read_text(encoding="utf-8")


def profile(tmp_path: Path, *changes: tuple[str, str]):
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return load_one(path)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("?P<sheet_id>", "?P<sheat_id>", "wide.sheat_id: a tensile_curve record has no such quantity"),
        ("(?P<specimen_no>\\\\d+)", "\\\\d+", "needs 'specimen_no'"),
        ('unit = "N"', 'unit = "mm"', "wide.force: unit: 'mm' does not measure the same as 'N'"),
        ('quantity = "force"\nunit = "N"', "", "give either quantity (with its unit) or a table of quantities"),
        ("direction = { MD", "side = { MD", "values.side: header has no such group"),
        ('header = "^(?P<sheet_id>[^/]+)/(?P<direction>[LT])/(?P<specimen_no>\\\\d+)$"', 'header = "S1"',
         "header must have a named group"),
        ('elongation = { from = "Way", unit = "mm" }',
         'elongation = { from = "Way", unit = "mm" }\nsheet_id = "Way"', "wide.sheet_id: stands in columns too"),
    ],
)  # fmt: skip
def test_a_faulty_wide_table_is_told(tmp_path: Path, old: str, new: str, message: str) -> None:
    with pytest.raises(SettingsError) as raised:
        profile(tmp_path, (old, new))
    assert message in str(raised.value)


def test_only_curves_may_be_wide(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(
        'record = "thickness"\ntester = "m"\n[recognise]\nheader = ["Sheet"]\n[columns]\nsheet_id = "Sheet"\n'
        "sheets_in_pack = { value = 1 }\n"
        '[wide]\nheader = "^T(?P<position_no>\\\\d)$"\nquantity = "thickness"\nunit = "um"\n'
    )
    with pytest.raises(SettingsError, match="only tensile_curve can be read so"):
        load_one(path)


def test_a_header_without_a_piece_holds_the_file(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;Remark\nmm;\n0,1;a\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert outcome.held_whole
    assert outcome.reasons[0].rule == "missing_column"
    assert "No cell of the header (line 2) matches the pattern" in outcome.reasons[0].what


def test_a_units_row_that_contradicts_one_piece_holds_the_file(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;S1/L/1;S1/L/2\nmm;N;kN\n0,1;1;2\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert outcome.reasons[0].rule == "units_row"
    assert "'kN' for 'S1/L/2'" in outcome.reasons[0].what


def test_a_piece_named_twice_holds_the_file(tmp_path: Path) -> None:
    file = file_of(b"Series\nWay;S1/L/1;S1/L/1\nmm;N;N\n0,1;1;2\n", "a.csv")
    (outcome,) = ingest([file], [profile(tmp_path)], ZONE).outcomes
    assert outcome.reasons[0].rule == "repeated_column"


def test_files_of_other_pieces_are_kept_apart(tmp_path: Path) -> None:
    mine = profile(tmp_path)
    one = file_of(b"Series\nWay;S1/L/1\nmm;N\n0,1;1\n0,2;2\n", "a.csv")
    other = file_of(b"Series\nWay;S2/L/1\nmm;N\n0,1;3\n", "b.csv")
    taken = ingest([one, other], [mine], ZONE)
    rows = {
        (row["file_hash"], row["sheet_id"], row["force_n"])
        for _, frame in taken.records
        for row in frame.to_dict("records")
    }
    assert rows == {(one.file_hash, "S1", 1.0), (one.file_hash, "S1", 2.0), (other.file_hash, "S2", 3.0)}


def test_a_piece_that_lacks_a_column_holds_the_file() -> None:
    mine = load_one(FIXTURE.parents[1] / "wide-curve-pairs" / "curve-pairs.toml")
    file = file_of(b"F S1-MD-1,x S1-MD-1,F S1-CD-1,Note\n0,0,0,a\n", "a.csv")
    (outcome,) = ingest([file], [mine], ZONE).outcomes
    assert outcome.held_whole
    assert outcome.reasons[0].what == (
        "The header (line 1) has no column of elongation for the piece direction CD, sheet_id S1, specimen_no 1."
    )
