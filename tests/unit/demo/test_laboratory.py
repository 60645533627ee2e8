"""The demo laboratory's folder, and that the intake meets the planted faults where they are said to be."""

import pytest

from pipelines.demo import laboratory
from pipelines.demo.timetable import ZONE
from pipelines.intake import profiles
from pipelines.intake.inbox import content_hash
from pipelines.intake.ingestion import ingest
from pipelines.intake.profile_matching import ArchivedFile


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return laboratory.write(tmp_path_factory.mktemp("demo"), sheets=12, seed=2)


@pytest.fixture(scope="module")
def outcomes(demo):
    paths = sorted(demo.laboratory.inbox.iterdir())
    files = [ArchivedFile(content_hash(path.read_bytes()), path.name, path.read_bytes()) for path in paths]
    return {
        outcome.file_name: outcome for outcome in ingest(files, profiles.load_profiles(None), ZONE).outcomes
    }


def _planted(demo, outcome):
    return [fault for fault in demo.faults if fault.outcome == outcome]


def test_settings_can_be_read(demo):
    settings = demo.laboratory.settings()
    assert settings.laboratory.time_zone == ZONE
    assert settings.former.contraction_coefficient == 0.95


def test_the_same_seed_gives_the_same_bytes_and_times(demo, tmp_path):
    again = laboratory.write(tmp_path, sheets=12, seed=2)

    def files(lab):
        return {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in lab.inbox.iterdir()}

    assert files(again.laboratory) == files(demo.laboratory)


def test_faults_have_unique_names_and_existing_files(demo):
    assert len({fault.name for fault in demo.faults}) == len(demo.faults)
    for fault in demo.faults:
        assert (demo.laboratory.inbox / fault.file_name).is_file()


def test_files_on_hold_are_the_planted_ones(demo, outcomes):
    held = {
        name: outcome.rejections[0].rule
        for name, outcome in outcomes.items()
        if outcome.rejections and outcome.account.held == outcome.account.lines
    }
    assert held == {fault.file_name: fault.rule for fault in _planted(demo, "held_file")}


def test_rows_held_at_reading_are_those_planted(demo, outcomes):
    held_files = {fault.file_name for fault in _planted(demo, "held_file")}
    held = {
        (name, reason.line_number, reason.rule)
        for name, outcome in outcomes.items()
        for reason in outcome.rejections
        if name not in held_files
    }
    # Contradictions between records are found only after all files are read.
    assert held == {
        (fault.file_name, line, fault.rule)
        for fault in _planted(demo, "held_rows")
        if fault.rule != "dated_before_forming"
        for line in fault.lines
    }


def test_summary_lines_are_counted_where_planted(demo, outcomes):
    (fault,) = _planted(demo, "footer")
    assert outcomes[fault.file_name].account.footer == len(fault.lines) > 0


def test_files_lie_in_the_past_in_the_order_in_which_they_were_exported(demo):
    inbox = demo.laboratory.inbox
    corrected = next(fault for fault in demo.faults if fault.outcome == "superseded")
    right = next(path for path in inbox.glob("moisture_001_*.csv"))
    assert (inbox / corrected.file_name).stat().st_mtime < right.stat().st_mtime
