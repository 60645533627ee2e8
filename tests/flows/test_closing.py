"""Rows on hold are closed when their file is corrected, replaced or removed from the inbox, and are never lost."""

from pipelines.flows import steps
from pipelines.warehouse.querying import ask, held_rows, unmatched_tests


def test_a_file_corrected_under_its_name_closes_its_held_rows(small):
    small.log("log.csv", "S1,T,P,")
    small.readings("a.csv", "S1,1,100,AB", "S1,2,-1,AB")
    report = steps.run(small)
    assert report.something_held
    assert report.night["rows_held"] == 1
    small.readings("a.csv", "S1,1,100,AB", "S1,2,101,AB")
    report = steps.run(small)
    assert not report.something_held
    assert held_rows(report.snapshot) == []
    (closed,) = held_rows(report.snapshot, closed=True)
    assert (closed["in_inbox"], closed["line_number"]) == (False, 3)
    counted = ask(
        report.snapshot,
        "SELECT position_no FROM records.thickness WHERE record_status = 'loaded' ORDER BY ALL",
    )
    assert counted.column("position_no").to_pylist() == [1, 2]


def test_a_file_removed_from_the_inbox_is_closed_and_reopens_when_it_returns(small):
    rubbish = small.inbox / "rubbish.bin"
    rubbish.write_bytes(b"\x00\x01\x02")
    assert steps.run(small).something_held
    rubbish.unlink()
    report = steps.run(small)
    assert report.changed
    assert not report.something_held
    assert not steps.run(small).changed
    rubbish.write_bytes(b"\x00\x01\x02")
    assert steps.run(small).something_held


def test_records_of_a_removed_file_stay(small):
    small.log("log.csv", "S1,T,P,")
    small.readings("a.csv", "S1,1,100,AB")
    steps.run(small)
    (small.inbox / "a.csv").unlink()
    report = steps.run(small)
    assert report.night["rows_loaded"] == 2


def test_a_mistyped_sheet_corrected_under_the_same_name_waits_no_more(small):
    small.log("log.csv", "S1,T,P,")
    small.readings("a.csv", "S-1,1,100,AB")
    report = steps.run(small)
    assert [row["sheet_id"] for row in unmatched_tests(report.snapshot)] == ["S-1"]
    small.readings("a.csv", "S1,1,100,AB")
    report = steps.run(small)
    assert unmatched_tests(report.snapshot) == []
    assert report.night["tests_unmatched"] == 0
    assert [row["sheet_id"] for row in unmatched_tests(report.snapshot, closed=True)] == ["S-1"]
