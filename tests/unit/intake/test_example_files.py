"""Every folder of fixtures/: example files, the profiles they are read by, and what must come out, worked by hand."""

import json
from pathlib import Path

import pytest
from intake_cases import ZONE, assert_all_is_accounted_for, file_of, values

from pipelines.intake.ingestion import ingest
from pipelines.intake.profiles import load_profile

FIXTURES = Path(__file__).parents[3] / "fixtures"
FOLDERS = sorted(path.parent for path in FIXTURES.glob("*/expected.json"))


@pytest.fixture(params=FOLDERS, ids=lambda folder: folder.name)
def folder(request):
    return request.param


@pytest.fixture
def expected(folder):
    return json.loads((folder / "expected.json").read_text(encoding="utf-8"))


@pytest.fixture
def result(folder):
    profiles = [load_profile(path) for path in sorted(folder.glob("*.toml"))]
    paths = sorted(folder.rglob("*.csv"))
    files = [file_of(path.read_bytes(), path.relative_to(folder).as_posix()) for path in paths]
    return ingest(files, profiles, ZONE)


def test_every_file_of_the_folder_is_expected(result, expected):
    assert {outcome.file_name for outcome in result.outcomes} == expected.keys()


def test_all_is_accounted_for(result):
    assert_all_is_accounted_for(result)


def test_files_come_out_as_worked_by_hand(result, expected):
    for outcome in result.outcomes:
        wanted = expected[outcome.file_name]
        assert (outcome.profile and outcome.profile.name) == wanted["profile"]
        assert outcome.encoding == wanted["encoding"]
        assert outcome.remark == wanted.get("remark", "")
        assert {name: count for name, count in vars(outcome.account).items() if count} == wanted["account"]
        assert [
            {"line_number": reason.line_number, "rule": reason.rule, "column": reason.column, "value": reason.cell}
            for reason in outcome.rejections
        ] == wanted["held"]  # fmt: skip


def test_records_come_out_as_worked_by_hand(result, expected):
    names = {outcome.file_hash: outcome.file_name for outcome in result.outcomes}
    found = {name: [] for name in expected}
    for kind, frame in result.records:
        for row in frame.to_dict("records"):
            found[names[row["file_hash"]]].append((int(row["line_number"]), values(kind, row)))
    for outcome in result.outcomes:
        wanted = expected[outcome.file_name]["records"]
        assert len(found[outcome.file_name]) == len(wanted)
        for (line, record), by_hand in zip(found[outcome.file_name], wanted, strict=True):
            tester = outcome.profile.text.tester
            by_hand = by_hand | ({"tester": tester} if tester else {})
            assert {"line_number": line} | record == {
                name: pytest.approx(value, rel=1e-12) if isinstance(value, int | float) else value
                for name, value in by_hand.items()
            }
