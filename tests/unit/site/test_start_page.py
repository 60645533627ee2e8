"""The start page and the index of trials, for small sets of rows, the demo laboratory and hostile texts."""

import json
import re
from datetime import date, datetime

import pytest

from pipelines.site import links
from pipelines.site.reading import Published, read
from pipelines.site.start import findings
from pipelines.site.start.page import LISTED, page
from pipelines.site.trials import findings as trial_findings
from pipelines.site.trials import page as trials

HOSTILE = '</script><img src=x onerror="alert(1)">{{ 617 * 10 }}\u202e javascript:alert(1)'
LONG = "n" * 300
AT = datetime(2026, 10, 27, 3, 30)


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def night(sheets=60, rows=100, files=3, loaded=100, held=0):
    return {
        "night": "2026-10-27T03-30-00-000Z", "began_at_utc": AT, "files_read": files, "rows_read": rows,
        "rows_loaded": loaded, "rows_held": held, "tests_unmatched": 0, "sheets": sheets,
    }  # fmt: skip


def new_files(count):
    return {
        "record": "tensile", "n_files": count, "n_held_whole": 0, "loaded_rows": 1, "held_lines": 0,
        "repeated_rows": 0, "superseded_rows": 0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("nights", "files", "said"),
    [
        ([], [], "No run has changed anything yet."),
        (
            [night()],
            [new_files(3)],
            "The newest run that changed anything, 2026-10-27 03:30, found 3 new files, and stored 100 rows. It is "
            "the first run; the forming logs name 60 sheets.",
        ),
        (
            [night(sheets=61, rows=1, files=1), night(sheets=60)],
            [new_files(1)],
            "The newest run that changed anything, 2026-10-27 03:30, found 1 new file, and stored 1 row. 1 sheet "
            "is new since the run before, 61 in all.",
        ),
        (
            [night(files=4), night()],
            [],
            "The newest run that changed anything, 2026-10-27 03:30, found no new file and read 4 files again, and "
            "stored 100 rows. No sheet is new since the run before; there are 60 in all.",
        ),
        (
            [night(sheets=58, files=0, rows=0), night(sheets=60)],
            [],
            "The newest run that changed anything, 2026-10-27 03:30, found no new file, and stored 0 rows. 2 "
            "sheets fewer than after the run before, 58 in all.",
        ),
    ],
)
def test_what_the_newest_run_took_in(nights, files, said):
    assert findings.of_night(nights, files) == said


def held_of(file_hash, whole, **values):
    return {
        "file_hash": file_hash, "file_name": "a.csv", "whole_file": whole, "rule": "range", "column_name": "F",
        "n_lines": 0 if whole else 1, "first_line": None if whole else 9, "last_line": None if whole else 9,
        "as_it_stood": "-1", "what": "It is less than 0.", "remedy": "Correct it.",
    } | values  # fmt: skip


@pytest.mark.parametrize(
    ("held", "said"),
    [
        ([], None),
        ([held_of("a", True)], "1 file is held whole"),
        ([held_of("a", False), held_of("a", False)], "Lines of 1 file are held"),
        (
            [held_of("a", True), held_of("b", True), held_of("c", False), held_of("d", False)],
            "2 files are held whole, and lines of 2 files are held",
        ),
    ],
)
def test_what_is_held(held, said):
    assert findings.of_held(held) == said


def waiting(sheet_id, count):
    return {
        "sheet_id": sheet_id, "n_records": count, "kinds": "tensile", "first_file_name": "a.csv", "first_line": 2,
        "suggested_sheet_id": None, "suggestion_reason": None,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("unmatched", "said"),
    [
        ([], None),
        ([waiting("S1", 1)], "1 record waits for the forming log of 1 sheet that no log names"),
        (
            [waiting("S1", 5), waiting("S2", 2)],
            "7 records wait for the forming log of 2 sheets that no log names",
        ),
    ],
)
def test_what_waits_for_its_sheet(unmatched, said):
    assert findings.of_unmatched(unmatched) == said


def air(verdict, count, admitted=False, sheets=("S1",)):
    return {
        "tested_on": date(2026, 10, 27), "room": "R1", "verdict": verdict, "admitted": admitted, "reason": "why",
        "n_reasons": 1, "kinds": "tensile", "n_tests": count, "n_sheets": len(sheets), "sheets": list(sheets)[:8],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("tests", "said"),
    [
        ([], None),
        (
            [air("off_standard", 1)],
            "1 test was made outside the chosen atmosphere; means leave it out",
        ),
        (
            [air("unverified", 4, admitted=True), air("unverified", 5, admitted=True)],
            "9 tests are not proven to be made within the chosen atmosphere; the settings admit them to means",
        ),
        (
            [air("off_standard", 6), air("unverified", 9, admitted=True)],
            "6 tests were made outside the chosen atmosphere, 9 tests are not proven to be made within it; means leave "
            "out 6 of them",
        ),
    ],
)
def test_which_tests_air_is_not_standard(tests, said):
    assert findings.of_climate(tests) == said


def fill(carry_over=False, overdrawn=0.0):
    return {
        "tank": "K1", "filled_at_utc": AT, "furnish": "F2", "previous_furnish": "F1", "carry_over": carry_over,
        "n_layers": 5, "filled_l": 20.0, "drawn_l": 20.0 + (overdrawn or 0), "overdrawn_l": overdrawn,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fills", "said"),
    [
        ([], None),
        ([fill(carry_over=True, overdrawn=None)], "1 tank filling may carry another furnish over"),
        ([fill(overdrawn=2.0)], "Of 1 tank filling more was drawn than filled in"),
        (
            [fill(carry_over=True), fill(carry_over=True, overdrawn=2.0)],
            "2 tank fillings may carry another furnish over; of 1 tank filling more was drawn than filled in",
        ),
    ],
)
def test_what_is_wrong_with_tanks(fills, said):
    assert findings.of_tanks(fills) == said


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ([], None),
        ([("saturated", None)], "1 raw curve shows something noticeable"),
        ([(None, "slack"), (None, "span")], "2 raw curves disagree with the tester"),
        (
            [("saturated", "curve: saturated"), ("early_stop", None)],
            "2 raw curves show something noticeable; 1 raw curve disagrees with the tester",
        ),
    ],
)
def test_which_curves_stand_out(found, said):
    curves = [{"findings": noticed, "disagreement": why} for noticed, why in found]
    assert findings.of_curves(curves) == said


@pytest.mark.parametrize(
    ("counts", "said"),
    [
        ([120, 100], "120 lines after the newest of 2 runs, 100 after the first of them"),
        ([1, 100, 0], "1 line after the newest of 3 runs, 0 after the first of them, 100 at most"),
        ([7, 3, 7], "7 lines after the newest of 3 runs, as after the first of them"),
    ],
)
def test_how_runs_went(counts, said):
    nights = [{"rows_held": count} for count in counts]
    assert findings.of_runs(nights, "rows_held", "lines", "line") == said


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([], "No forming log names a trial yet."),
        ([(1, 1, 1)], "1 trial of 1 trial point and 1 sheet, all with tensile tests that count."),
        (
            [(3, 15, 12), (2, 10, 10)],
            "2 trials of 5 trial points and 25 sheets, 22 of them with tensile tests that count.",
        ),
    ],
)
def test_how_many_trials_there_are(rows, said):
    trials_of = [
        {"n_points": points, "n_sheets": sheets, "n_tested": tested} for points, sheets, tested in rows
    ]
    assert trial_findings.of_trials(trials_of) == said


def trial_row(name="T1", furnishes=("F1",), lowest=1.0, highest=1.2):
    return {
        "trial": name, "n_points": 2, "n_sheets": 10, "n_tested": 9, "first_formed_at_utc": AT,
        "last_formed_at_utc": AT, "lowest_jet_to_wire_ratio": lowest, "highest_jet_to_wire_ratio": highest,
        "furnishes": list(furnishes),
    }  # fmt: skip


def test_a_trials_row_names_each_furnish_once_and_counts_those_beyond():
    assert trials.row_cells(trial_row(furnishes=("F1, F2", "F2, F3", None)))["furnishes"] == "F1, F2, F3"
    many = [f"F{number}" for number in range(11)]
    assert trials.row_cells(trial_row(furnishes=many))["furnishes"].endswith("F6, F7 and 3 more")
    assert trials.row_cells(trial_row(furnishes=[None]))["furnishes"] == "–"


@pytest.mark.parametrize(
    ("lowest", "highest", "text"),
    [(0.849, 1.351, "0.849 to 1.35"), (1.1501, 1.1499, "1.15"), (None, None, "–")],
)
def test_a_trials_row_has_the_span_of_its_ratios(lowest, highest, text):
    assert trials.row_cells(trial_row(lowest=lowest, highest=highest))["jet_to_wire_ratio"] == text


def rows_of(**given):
    """Return what the pages read, empty but for the settings and what is given."""
    names = (
        "night", "start_file", "held", "start_unmatched", "start_climate", "start_tank", "start_curve", "start_sheet",
        "trial",
    )  # fmt: skip
    return Published(
        {name: [] for name in names}
        | {"setting": [{"laboratory": "A laboratory", "time_zone": "UTC"}]}
        | given
    )


def test_sections_that_have_nothing_say_so():
    html = page(rows_of())
    for said in (
        "No run has changed anything yet.",
        "Nothing needs anybody",
        "Nothing is held.",
        "Every test has its sheet.",
        "Every test was made in the chosen atmosphere",
        "No tank carried furnish over",
        "No raw curve shows anything noticeable",
        "No forming log names a trial yet.",
        "No forming log names a sheet yet.",
    ):
        assert said in html
    assert "<figure" not in html
    assert "vega.js" not in html, "no chart, no library for one"
    assert "No forming log names a trial yet." in trials.page(rows_of())


@pytest.mark.parametrize(
    ("held", "where"),
    [
        (held_of("a", True, column_name=None), "the whole file"),
        (held_of("a", False), "line 9, column F"),
        (
            held_of("a", False, n_lines=12345, last_line=20000, column_name=None),
            "12\u202f345 lines, 9 to 20000",
        ),
    ],
)
def test_what_is_held_is_told_with_its_place_and_remedy(held, where):
    html = page(rows_of(held=[held]))
    assert f"<b>a.csv</b><br>{where}</p>" in html
    assert "As it stood: <code>-1</code>" in html
    assert "To do: Correct it." in html


def test_of_much_that_is_held_the_first_is_listed_and_the_rest_counted():
    html = page(
        rows_of(
            held=[held_of(str(number), False, file_name=f"f{number}.csv") for number in range(LISTED + 5)]
        )
    )
    assert html.count("To do: ") == LISTED
    assert "5 reasons beyond these." in html
    assert "sheetlore held" in html


def test_sheets_of_tests_out_of_climate_are_linked_and_those_beyond_counted():
    sheets = [f"S{number}" for number in range(20)]
    html = page(rows_of(start_climate=[air("off_standard", 40, sheets=sheets)]))
    assert html.count(f'href="{links.sheet_page("S7")}"') == 1
    assert links.sheet_page("S8") not in html
    assert "and 12 more" in html


def test_a_curve_of_a_sheet_that_no_log_names_has_no_link():
    curve = {
        "sheet_id": "S1", "in_forming_log": False, "direction": "MD", "specimen_no": 1, "replicate_no": 1,
        "tester": "t", "tested_at_utc": None, "usable": True, "findings": "early_stop", "disagreement": None,
    }  # fmt: skip
    assert links.sheet_page("S1") not in page(rows_of(start_curve=[curve]))
    assert f'href="{links.sheet_page("S1")}"' in page(rows_of(start_curve=[curve | {"in_forming_log": True}]))


def test_several_runs_are_drawn_and_one_is_not():
    assert "<figure" not in page(rows_of(night=[night()]))
    html = page(rows_of(night=[night(loaded=120, held=1), night(loaded=100, held=3)]))
    (content,) = re.findall(r'<script type="application/json" id="page-data">(.*?)</script>', html, re.S)
    figures = json.loads(content)["figures"]
    titles = {key: figure["variants"][""]["title"] for key, figure in figures.items()}
    assert titles == {
        "loaded": "120 rows count after the newest of 2 runs, 100 after the first of them",
        "lines-held": "1 line is held after the newest of 2 runs, 3 after the first of them",
    }


def test_texts_from_files_stay_texts():
    held = held_of(
        "a", False, file_name=HOSTILE, column_name=HOSTILE, as_it_stood=HOSTILE, what=HOSTILE, remedy=HOSTILE
    )
    html = page(
        rows_of(
            held=[held],
            start_unmatched=[
                waiting(HOSTILE, 1) | {"suggested_sheet_id": LONG, "suggestion_reason": HOSTILE}
            ],
            start_climate=[air("unverified", 1, sheets=(HOSTILE,)) | {"room": HOSTILE, "reason": HOSTILE}],
            start_tank=[fill(carry_over=True) | {"tank": HOSTILE, "furnish": HOSTILE}],
            trial=[trial_row(HOSTILE, furnishes=(HOSTILE, LONG))],
            setting=[{"laboratory": HOSTILE, "time_zone": "UTC"}],
        )
    )
    assert "<img" not in html
    assert "6170" not in re.sub(r'href="[^"]*"', "", html), "no template is run"
    assert not re.search(
        r'href="(?!index|trials|sheets|testers|dictionary|assets/|trial/|sheet/|#|data:,)', html
    )
    assert html.count("&lt;img src=x") >= 10


def test_the_demo_laboratorys_mistakes_are_told_with_what_to_do(published, demo_night):
    html = page(published)
    for row in published.all("held"):
        assert row["file_name"] in html
    assert "thickness-us_004.csv" in html
    assert "JW-001: looks alike" in html
    assert f"{demo_night.report.night['sheets']} sheets" in html
    assert sum(row["n_files"] for row in published.all("start_file")) == len(
        {path for path in demo_night.laboratory.inbox.rglob("*") if path.is_file()}
    ) - repeated_files(demo_night)


def repeated_files(demo_night):
    """Return how many files of the inbox have the bytes of another one."""
    contents = [path.read_bytes() for path in demo_night.laboratory.inbox.rglob("*") if path.is_file()]
    return len(contents) - len(set(contents))
