"""A run's report as Markdown: its counts, what is held, and text from files that stays text."""

import json
import re

import pytest

from pipelines.flows import steps
from pipelines.flows.summary import HELD_SHOWN, advice, as_dict, as_markdown, this_run, totals

HOSTILE = "**S**|`x`<script>alert(1)</script>[a](b)#_c_\\"


def table_rows(markdown):
    """Return the cells of a Markdown text's table rows, by its unescaped bars."""
    return [re.split(r"(?<!\\)\|", line)[1:-1] for line in markdown.splitlines() if line.startswith("|")]


def unescaped(text):
    return re.sub(r"\\(.)", r"\1", text)


def test_every_count_and_every_held_row_is_reported(demo_night):
    markdown = as_markdown(demo_night.report)
    rows = [[cell.strip() for cell in row] for row in table_rows(markdown)]
    counts = totals(demo_night.report)
    assert rows[2 : 2 + len(counts)] == [[label, str(count)] for label, count in counts]
    assert {"sheets", "rows_held", "tests_unverified"} <= as_dict(demo_night.report).keys()
    held = [row for row in rows if len(row) == 5][2:]
    assert len(held) == demo_night.report.night["files_held"] + demo_night.report.night["rows_held"]
    assert ["orders.csv", "whole"] in [row[:2] for row in held]


def test_text_from_files_stays_text(small):
    name = f"[red] {HOSTILE.replace('/', '')}.csv"
    small.readings(name, f'"{HOSTILE}",1,-5,AB')
    small.log("log.csv", f'"{HOSTILE}",T,A,')
    markdown = as_markdown(steps.run(small))
    *_, held = table_rows(markdown)
    assert len(held) == 5
    assert unescaped(held[0]).strip() == name
    for sign in "*`<>[]#_":
        assert not re.search(rf"(?<!\\){re.escape(sign)}", held[0])


def test_a_flood_of_held_rows_is_cut_and_counted(small):
    small.readings("a.csv", *(f"S1,{spot},-5,AB" for spot in range(1, HELD_SHOWN + 8)))
    markdown = as_markdown(steps.run(small))
    assert len([row for row in table_rows(markdown) if len(row) == 5][2:]) == HELD_SHOWN
    assert "… and 7 more: `sheetlore held`" in markdown


@pytest.mark.parametrize(("size_mb", "waits"), [(0.001, True), (1, False)])
def test_waiting_files_are_reported(small, size_mb, waits):
    small.settings_file.write_text(
        f"[intake]\nquiet_seconds = 0\nlargest_file_mb = {size_mb}\n[publishing]\npage = false\n"
    )
    (small.inbox / "large_file.csv").write_text("x" * 2000)
    markdown = as_markdown(steps.run(small))
    assert (r"- large\_file.csv is larger than" in markdown) == waits


# What to do next


MEASURES = "[former]\ndrum_radius_mm = 150.0\nforming_length_mm = 900.0\nforming_width_mm = 220.0\n"


def advised(laboratory):
    with laboratory.settings_file.open("a") as settings:
        settings.write(MEASURES)
    return " ".join(advice(steps.run(laboratory)))


def admit(laboratory, *verdicts):
    laboratory.settings_file.write_text(
        f"{MEASURES}[atmosphere]\nadmitted = {json.dumps(verdicts)}\n"
        "[intake]\nquiet_seconds = 0\n[publishing]\npage = false\n"
    )


def test_an_empty_laboratory_is_told_what_to_put_where(small):
    assert advised(small).startswith(
        f"The warehouse is empty. Put the forming log and the testers' exports into {small.inbox}"
    )


def test_a_laboratory_with_everything_on_hold_is_told_where_the_reasons_are(small):
    small.readings("a.csv", "S1,1,-5,AB")
    (small.inbox / "notes.csv").write_text("nothing,known\n1,2\n")
    assert advised(small) == (
        "No means yet: everything is on hold (1 file and 1 line). Why, and what to do: "
        f"sheetlore held --lab {small.root}"
    )


def test_results_without_a_forming_log_are_told_that_they_need_it(small):
    small.readings("a.csv", "S1,1,100,AB")
    told = advised(small)
    assert "there is no forming log" in told
    assert "matches 1 result automatically" in told


def test_tests_without_a_climate_record_are_told_what_to_import_or_to_admit(small):
    small.readings("a.csv", "S1,1,100,AB", "S1,2,101,AB")
    small.log("log.csv", "S1,T,A,")
    assert advised(small) == (
        "No means yet: 2 tests without a complete climate record. Import the room's climate log and the conditioning "
        'log, or admit these tests in lab.toml: [atmosphere] admitted = ["standard", "unverified"]'
    )


def test_admitted_verdicts_raise_no_alarm(small):
    admit(small, "standard", "unverified")
    small.readings("a.csv", "S1,1,100,AB")
    small.log("log.csv", "S1,T,A,")
    report = steps.run(small)
    assert advice(report) == []
    assert ("Tests without a complete climate record, admitted", 1) in totals(report)


def test_the_report_tells_this_run_apart_from_totals(small):
    small.readings("a.csv", "S1,1,100,AB", "S1,2,101,AB")
    small.log("log.csv", "S1,T,A,")
    first = steps.run(small)
    assert this_run(first) == "This run: 2 files, 3 rows imported."
    small.readings("b.csv", "S1,3,102,AB")
    second = steps.run(small)
    assert this_run(second) == "This run: 1 file, 1 row imported."
    assert ("Rows used", 4) in totals(second)
    assert this_run(steps.run(small)) == "This run: no new files; nothing changed."


def test_remarks_on_files_of_this_run_are_told_once_with_their_files(small):
    for number in range(1, 6):
        (small.inbox / f"{number}.csv").write_text(f"sheet,spot,um,who\nS1,{number},100,AB")
    report = steps.run(small)
    remark = "The last line has no line end. If lines are missing, export the file again."
    assert f"1.csv, 2.csv, 3.csv and 2 more: {remark}" in advice(report)
    assert not any(remark in sentence for sentence in advice(steps.run(small)))


def test_a_flood_of_remarks_is_cut_and_counted(small):
    profile = small.exports / "small-thickness.toml"
    profile.write_text(profile.read_text().replace('decimal = "."', 'decimal = "."\nfooter = "^M"'))
    for number in range(1, 8):
        lines = ["sheet,spot,um,who", *["S1,1,100,"] * number, f"M{number},1,100,"]
        (small.inbox / f"{number}.csv").write_text("\n".join([*lines, ""]))
    sentences = advice(steps.run(small))
    assert (
        sum("counted as summary by dialect.footer looks like data" in sentence for sentence in sentences) == 5
    )
    assert any(sentence.startswith("2 more remarks: sheetlore sql ") for sentence in sentences)
