"""Corrections in later exports: which of two files counts, and what is told where nothing shows it."""

import os

import pytest

from pipelines.flows import steps
from pipelines.warehouse.querying import ask

TIMED = """\
record = "thickness"
tester = "timed micrometer"

[recognise]
header = ["timed sheet", "spot", "um", "at"]

[dialect]
encoding = "utf-8"
delimiter = ","
decimal = "."

[columns]
sheet_id = "timed sheet"
position_no = "spot"
sheets_in_pack = { value = 1 }
thickness = { from = "um", unit = "um" }
tested_at = { from = "at", format = "%Y-%m-%d %H:%M:%S", zone = "UTC" }
"""


@pytest.fixture
def timed(small):
    (small.exports / "timed.toml").write_text(TIMED)
    return small


def put(laboratory, name, *rows, seconds=0.0, header="timed sheet,spot,um,at"):
    path = laboratory.inbox / name
    path.write_text("\n".join([header, *rows, ""]))
    os.utime(path, (1_800_000_000 + seconds,) * 2)


def records(report):
    rows = ask(
        report.snapshot,
        "SELECT sheet_id, position_no, thickness_um, record_status FROM records.thickness ORDER BY ALL",
    ).to_pylist()
    return [tuple(row.values()) for row in rows]


def reasons(report):
    rows = ask(
        report.snapshot, "SELECT file_name, line_number, rule, what FROM held_row ORDER BY ALL"
    ).to_pylist()
    return [tuple(row.values()) for row in rows]


@pytest.mark.parametrize("seconds", [0, 1.9])
def test_two_files_of_equal_time_that_contradict_each_other_are_both_on_hold(small, seconds):
    header = "sheet,spot,um,who"
    put(small, "a.csv", "S1,1,100,AB", "S1,2,101,AB", header=header)
    put(small, "b.csv", "S1,1,105,AB", "S1,2,101,AB", header=header, seconds=seconds)
    report = steps.run(small)
    assert records(report) == [
        ("S1", 1, 100.0, "held"), ("S1", 1, 105.0, "held"), ("S1", 2, 101.0, "loaded"), ("S1", 2, 101.0, "repeated"),
    ]  # fmt: skip
    (first, second) = reasons(report)
    assert first[:3] == ("a.csv", 2, "contradicting_files")
    assert first[3].startswith(
        "Line 2 of b.csv gives other values for the same measurement, and the two files have"
    )
    assert second[:3] == ("b.csv", 2, "contradicting_files")


def test_a_file_newer_by_more_than_the_file_systems_resolution_counts(small):
    put(small, "a.csv", "S1,1,105,AB", header="sheet,spot,um,who", seconds=2.5)
    put(small, "b.csv", "S1,1,100,AB", header="sheet,spot,um,who")
    report = steps.run(small)
    assert records(report) == [("S1", 1, 100.0, "superseded"), ("S1", 1, 105.0, "loaded")]


def test_a_later_file_that_confirms_one_of_two_values_decides(small):
    put(small, "a.csv", "S1,1,100,AB", header="sheet,spot,um,who")
    put(small, "b.csv", "S1,1,105,AB", header="sheet,spot,um,who")
    put(small, "c.csv", "S1,1,105,AB", "S1,2,100,AB", header="sheet,spot,um,who", seconds=60)
    report = steps.run(small)
    assert [row for row in records(report) if row[3] == "loaded"] == [
        ("S1", 1, 105.0, "loaded"), ("S1", 2, 100.0, "loaded"),
    ]  # fmt: skip
    assert reasons(report) == []


def test_the_time_in_an_export_counts_before_the_time_of_the_file(small):
    """The older export was copied later, without its file time."""
    profile = small.exports / "small-thickness.toml"
    profile.write_text(
        profile.read_text().replace(
            "[columns]",
            '[preamble.values]\nexported_at = { line = "^Exported (.+)$", format = "%Y-%m-%d %H:%M", zone = "UTC" }\n\n'
            "[columns]",
        )
    )
    for name, day, um, seconds in (("new.csv", 2, 105, 0), ("old.csv", 1, 100, 500), ("same.csv", 1, 100, 0)):
        put(
            small,
            name,
            "sheet,spot,um,who",
            f"S1,1,{um},AB",
            seconds=seconds,
            header=f"Exported 2027-01-0{day} 08:00",
        )
    report = steps.run(small)
    assert [row[2:] for row in records(report) if row[3] == "loaded"] == [(105.0, "loaded")]
    times = ask(
        report.snapshot, "SELECT DISTINCT exported_at_utc::VARCHAR AS exported FROM export_file ORDER BY ALL"
    ).to_pylist()
    assert [row["exported"] for row in times] == ["2027-01-01 08:00:00", "2027-01-02 08:00:00"]


def test_equal_times_in_exports_are_no_order(small):
    profile = small.exports / "small-thickness.toml"
    profile.write_text(
        profile.read_text() + 'exported_at = { from = "at", format = "%Y-%m-%d %H:%M:%S", zone = "UTC" }\n'
    )
    header = "sheet,spot,um,who,at"
    put(small, "a.csv", "S1,1,100,AB,2027-01-01 08:00:00", header=header)
    put(
        small,
        "b.csv",
        "S1,1,105,AB,2027-01-01 08:00:00",
        "S1,2,105,AB,2027-01-01 07:00:00",
        header=header,
        seconds=99,
    )
    assert [row[3] for row in records(steps.run(small))] == ["held", "held", "loaded"]
    put(small, "b.csv", "S1,1,105,AB,2027-01-01 08:00:01", header=header, seconds=199)
    assert [row[3] for row in records(steps.run(small)) if row[2] == 105.0 and row[1] == 1].count(
        "loaded"
    ) == 1


def test_a_test_with_a_corrected_sheet_number_counts_once(timed):
    put(timed, "a.csv", "S-140,1,100,2027-01-05 10:00:12", "S-105,1,101,2027-01-05 10:01:40")
    put(timed, "b.csv", "S-104,1,100,2027-01-05 10:00:12", "S-105,1,101,2027-01-05 10:01:40", seconds=600)
    report = steps.run(timed)
    assert records(report) == [
        ("S-104", 1, 100.0, "loaded"), ("S-105", 1, 101.0, "loaded"), ("S-105", 1, 101.0, "repeated"),
        ("S-140", 1, 100.0, "held"),
    ]  # fmt: skip
    assert reasons(report) == [
        (
            "a.csv", 2, "same_test_elsewhere",
            "A later export has the same test (tester, time and values) on sheet S-104: b.csv, line 2. Only the later "
            "one counts.",
        )
    ]  # fmt: skip


def test_a_line_of_several_readings_is_accounted_for_once_and_each_reading_corrected_by_itself(small):
    """The second reading is contradicted; the first and third count."""
    (small.exports / "wide.toml").write_text(
        'record = "thickness"\ntester = "w"\n[recognise]\nheader = ["wide sheet"]\n[dialect]\ndelimiter = ","\n'
        'decimal = "."\n[wide]\nheader = "^T(?P<position_no>[0-9])$"\nquantity = "thickness"\nunit = "um"\n'
        '[columns]\nsheet_id = "wide sheet"\nsheets_in_pack = { value = 1 }\n'
    )
    put(small, "a.csv", "S1,100,101,102", "S2,100,101,-1", header="wide sheet,T1,T2,T3")
    put(small, "b.csv", "S1,100,111,102", header="wide sheet,T1,T2,T3")
    report = steps.run(small)
    of_first = [row for row in records(report) if row[0] == "S1"]
    assert of_first == [
        ("S1", 1, 100.0, "loaded"), ("S1", 1, 100.0, "repeated"), ("S1", 2, 101.0, "held"), ("S1", 2, 111.0, "held"),
        ("S1", 3, 102.0, "loaded"), ("S1", 3, 102.0, "repeated"),
    ]  # fmt: skip
    assert [reason[:3] for reason in reasons(report)] == [
        ("a.csv", 2, "contradicting_files"), ("a.csv", 3, "range"), ("b.csv", 2, "contradicting_files"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (["S1,1,100,2027-01-05 10:00:12"], ["S2,1,100,2027-01-05 10:00:13"]),  # another time
        (["S1,1,100,2027-01-05 10:00:12"], ["S2,1,101,2027-01-05 10:00:12"]),  # another value
        (["S1,1,100,2027-01-05 10:00:12"], ["S2,2,100,2027-01-05 10:00:12"]),  # another position
        (["S1,1,100,2027-01-05 00:00:00"], ["S2,1,100,2027-01-05 00:00:00"]),  # a minute tells little apart
        (["S1,1,100,2027-01-05 10:00:12"], ["S1,1,100,2027-01-05 10:00:12", "S2,1,100,2027-01-05 10:00:12"]),
        (["S1,1,100,2027-01-05 10:00:12", "S2,1,99,2027-01-05 10:00:12"], ["S2,1,100,2027-01-05 10:00:12"]),
    ],
)
def test_what_may_be_two_tests_counts_twice(timed, first, second):
    put(timed, "a.csv", *first)
    put(timed, "b.csv", *second, seconds=600)
    report = steps.run(timed)
    assert [row[3] for row in records(report)].count("loaded") == 2
    assert reasons(report) == []
