"""A night's report as Markdown: its counts, what is held, and text from files that stays text."""

import re

import pytest

from pipelines.flows import steps
from pipelines.flows.summary import HELD_SHOWN, LABELS, as_markdown

HOSTILE = "**S**|`x`<script>alert(1)</script>[a](b)#_c_\\"


def table_rows(markdown):
    """Return the cells of a Markdown text's table rows, by its unescaped bars."""
    return [re.split(r"(?<!\\)\|", line)[1:-1] for line in markdown.splitlines() if line.startswith("|")]


def unescaped(text):
    return re.sub(r"\\(.)", r"\1", text)


def test_every_count_and_every_held_row_is_told(demo_night):
    markdown = as_markdown(demo_night.report)
    rows = [[cell.strip() for cell in row] for row in table_rows(markdown)]
    assert rows[2 : 2 + len(LABELS)] == [
        [label, str(demo_night.report.night[name])] for name, label in LABELS.items()
    ]
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
def test_what_waits_in_the_inbox_is_told(small, size_mb, waits):
    small.settings_file.write_text(
        f"[intake]\nquiet_seconds = 0\nlargest_file_mb = {size_mb}\n[publishing]\npage = false\n"
    )
    (small.inbox / "large_file.csv").write_text("x" * 2000)
    markdown = as_markdown(steps.run(small))
    assert (r"- large\_file.csv is larger than" in markdown) == waits
