"""Runs are ordered by their number: a day with the clock a year ahead does not make every later run an older one."""

from datetime import datetime, timedelta

import pytest

from pipelines.flows import context, steps
from pipelines.warehouse.connection import working
from pipelines.warehouse.querying import ask


class YearAhead(datetime):
    """A clock that is a year ahead."""

    @classmethod
    def now(cls, tz=None):
        return datetime.now(tz) + timedelta(days=365)


@pytest.fixture
def after_a_year_ahead(small, monkeypatch):
    """A laboratory that keeps two snapshots, after a run and a second one with the clock a year ahead."""
    small.settings_file.write_text(
        "[intake]\nquiet_seconds = 0\n[publishing]\npage = false\nsnapshots_kept = 2\n"
    )
    small.readings("first.csv", "S1,1,100,AB")
    steps.run(small)
    with monkeypatch.context() as patch:
        for module in (context, steps):
            patch.setattr(module, "datetime", YearAhead)
        small.readings("second.csv", "S1,2,101,AB")
        ahead = steps.run(small)
    return small, ahead


def test_a_run_after_one_with_the_clock_ahead_is_the_last(after_a_year_ahead):
    small, ahead = after_a_year_ahead
    small.settings_file.write_text(small.settings_file.read_text() + '[laboratory]\nname = "New"\n')
    small.readings("third.csv", "S1,3,102,AB")
    report = steps.run(small)
    assert report.snapshot.name < ahead.snapshot.name
    assert (report.night["night"], report.night["run_no"]) == (
        report.snapshot.stem.removeprefix("sheetlore-"),
        3,
    )
    assert (report.night["files_new"], report.night["rows_loaded"]) == (1, 3)
    order = "SELECT rows_loaded FROM night ORDER BY run_no"
    assert ask(report.snapshot, order).column("rows_loaded").to_pylist() == [1, 2, 3]
    assert not steps.run(small).changed, "the last run was with these settings"


@pytest.mark.slow
def test_the_snapshot_of_a_run_with_the_clock_ahead_is_removed_in_its_turn(after_a_year_ahead):
    small, ahead = after_a_year_ahead
    kept = []
    for number in (3, 4):
        small.readings(f"{number}.csv", f"S1,{number},102,AB")
        kept.append(steps.run(small).snapshot)
    assert sorted(small.published.glob("*.duckdb")) == sorted(kept)
    assert not ahead.snapshot.exists()


@pytest.mark.slow
def test_runs_of_earlier_versions_are_numbered_in_the_order_in_which_they_ran(after_a_year_ahead):
    small, _ = after_a_year_ahead
    with working(small.warehouse) as connection:
        connection.execute("ALTER TABLE ledger.night DROP COLUMN run_no")
    small.readings("third.csv", "S1,3,102,AB")
    report = steps.run(small)
    numbered = ask(report.snapshot, "SELECT run_no, rows_loaded FROM night ORDER BY run_no").to_pylist()
    assert numbered == [{"run_no": number, "rows_loaded": number} for number in (1, 2, 3)]
