"""The start page and the index of trials, for small sets of rows, the demo laboratory and hostile texts."""

import json
import re
from datetime import datetime, timedelta
from html import unescape

import pytest

from pipelines.site import links
from pipelines.site.reading import Published, read
from pipelines.site.start import findings, work
from pipelines.site.start.page import LISTED, page
from pipelines.site.trials import findings as trial_findings
from pipelines.site.trials import page as trials
from schemas.marts.test_atmosphere import REASONS

HOSTILE = '</script><img src=x onerror="alert(1)">{{ 617 * 10 }}\u202e javascript:alert(1)'
LONG = "n" * 300
AT = datetime(2026, 10, 27, 3, 30)


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def run(sheets=60, rows=100, files=3, loaded=100, held=0, **values):
    return {
        "night": "2026-10-27T03-30-00-000Z", "began_at_utc": AT, "files_read": files, "rows_read": rows,
        "rows_loaded": loaded, "rows_held": held, "files_held": 0, "tests_unmatched": 0, "sheets": sheets,
        "files_new": files, "rows_imported": rows, "curves_imported": 0, "files_put_on_hold": 0, "lines_held": 0,
        "lines_repeated": 0, "lines_superseded": 0, "test_pieces": 20 * sheets,
    } | values  # fmt: skip


@pytest.mark.parametrize(
    ("runs", "text"),
    [
        ([], "No run yet."),
        ([run()], "Run of 2026-10-27 03:30: 3 new files, 100 lines imported."),
        (
            [
                run(
                    loaded=9000,
                    held=70,
                    curves_imported=1,
                    files_put_on_hold=1,
                    lines_held=4,
                    lines_repeated=2,
                )
            ],
            "Run of 2026-10-27 03:30: 3 new files, 100 lines imported, 1 raw curve imported, 1 file on hold, 4 lines "
            "on hold, 2 lines repeated.",
        ),
        (
            [run(files=4, files_new=None, rows=0)],
            "Run of 2026-10-27 03:30: no new file, 4 files read again.",
        ),
    ],
)
def test_the_last_run_is_reported_without_totals(runs, text):
    assert findings.of_last_run(runs) == text


@pytest.mark.parametrize(
    ("sheets", "text"),
    [
        ([60], "In all: 60 sheets, 1200 tensile test pieces."),
        ([61, 60], "In all: 61 sheets, 1220 tensile test pieces. 1 sheet more than after the run before."),
        ([58, 60], "In all: 58 sheets, 1160 tensile test pieces. 2 sheets fewer than after the run before."),
        ([60, 60], "In all: 60 sheets, 1200 tensile test pieces."),
    ],
)
def test_totals_have_a_sentence_of_their_own(sheets, text):
    assert findings.of_totals([run(sheets=count) for count in sheets]) == text


def held_of(rule="range", whole=False, **values):
    return {
        "whole_file": whole, "rule": rule, "column_name": None if whole else "F", "n_files": 1, "n_held": 1,
        "first_line": None if whole else 9, "last_line": None if whole else 9, "file_names": ["a.csv"],
        "file_name": "a.csv", "line_number": None if whole else 9, "original_text": "S1;-1,0",
        "what": "It is less than 0.", "remedy": "Correct it.",
    } | values  # fmt: skip


@pytest.mark.parametrize(
    ("held", "text"),
    [
        ([], None),
        ([held_of(whole=True)], "1 file is on hold"),
        ([held_of(n_held=28)], "28 lines are on hold"),
        (
            [held_of(whole=True, n_held=4, n_files=4), held_of(n_held=12), held_of()],
            "4 files and 13 lines are on hold",
        ),
    ],
)
def test_files_and_lines_on_hold_are_counted(held, text):
    assert findings.of_held(held) == text


def unmatched_number(sheet_id, count):
    return {
        "sheet_id": sheet_id, "n_records": count, "kinds": "tensile", "first_file_name": "a.csv", "first_line": 2,
        "suggested_sheet_id": None, "suggestion_reason": None,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("unmatched", "text"),
    [
        ([], None),
        ([unmatched_number("S1", 1)], "1 result has an unknown sheet number (1 number)"),
        (
            [unmatched_number("S1", 5), unmatched_number("S2", 2)],
            "7 results have an unknown sheet number (2 numbers)",
        ),
    ],
)
def test_results_with_unknown_sheet_numbers_are_counted(unmatched, text):
    assert findings.of_unmatched(unmatched) == text


def air(verdict, count, admitted=False, sheets=("S1",), code="climate_gap"):
    return {
        "verdict": verdict, "reason_code": code, "admitted": admitted, "reason": "why", "n_reasons": 1,
        "kinds": "tensile", "first_tested_at_utc": AT, "last_tested_at_utc": AT + timedelta(days=2),
        "n_tests": count, "n_sheets": len(sheets), "sheets": list(sheets)[:8],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("tests", "text"),
    [
        ([], None),
        ([air("off_standard", 1)], "1 test outside the standard atmosphere; not in the means"),
        ([air("unverified", 4, admitted=True), air("unverified", 5, admitted=True)], None),
        (
            [air("off_standard", 6), air("unverified", 9), air("unverified", 3, admitted=True)],
            "6 tests outside the standard atmosphere and 9 tests without a complete climate record; not in the means",
        ),
    ],
)
def test_tests_left_out_for_their_atmosphere_are_counted(tests, text):
    assert findings.of_climate(tests) == text


def test_admitted_verdicts_need_no_action():
    html = page(rows_of(night=[run()], start_climate=[air("unverified", 9, admitted=True)]))
    assert "Nothing to do: nothing is on hold" in html
    assert "9 more tests count in the means because the settings admit their verdicts. Nothing to do." in html


@pytest.mark.parametrize("code", [*REASONS])
def test_every_reason_of_a_verdict_has_a_remedy(code):
    if "changes no verdict" not in REASONS[code]:
        assert findings.CLIMATE_REMEDIES[code]


def fill(carry_over=False, overdrawn=0.0):
    return {
        "tank": "K1", "filled_at_utc": AT, "furnish": "F2", "previous_furnish": "F1", "carry_over": carry_over,
        "n_layers": 5, "filled_l": 20.0, "drawn_l": 20.0 + (overdrawn or 0), "overdrawn_l": overdrawn,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fills", "text"),
    [
        ([], None),
        ([fill(carry_over=True, overdrawn=None)], "1 tank filling may contain the furnish before"),
        ([fill(overdrawn=2.0)], "1 tank filling supplied more than was filled in"),
        (
            [fill(carry_over=True), fill(carry_over=True, overdrawn=2.0)],
            "2 tank fillings may contain the furnish before and 1 tank filling supplied more than was filled in",
        ),
    ],
)
def test_tank_fillings_with_carry_over_or_overdrawn_are_counted(fills, text):
    assert findings.of_tanks(fills) == text


@pytest.mark.parametrize(
    ("found", "text"),
    [
        ([], None),
        ([("saturated", None)], "1 raw curve to look at"),
        ([(None, "slack"), (None, "span")], "2 raw curves disagree with the tester"),
        (
            [("saturated", "curve: saturated"), ("early_stop", None)],
            "2 raw curves to look at and 1 raw curve disagrees with the tester",
        ),
    ],
)
def test_curves_to_look_at_are_counted(found, text):
    curves = [{"findings": noticed, "disagreement": why} for noticed, why in found]
    assert findings.of_curves(curves) == text


@pytest.mark.parametrize(
    ("counts", "text"),
    [
        ([120, 100], "120 lines after the newest of 2 runs, 100 after the first"),
        ([1, 100, 0], "1 line after the newest of 3 runs, 0 after the first, 100 at most"),
        ([7, 3, 7], "7 lines after the newest of 3 runs, as after the first"),
    ],
)
def test_counts_over_the_runs(counts, text):
    runs = [{"rows_held": count} for count in counts]
    assert findings.of_runs(runs, "rows_held", "lines", "line") == text


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ([], "No trial yet: trials come from the forming log."),
        ([(1, 1, 1)], "1 trial of 1 trial point and 1 sheet, all with valid tensile tests."),
        (
            [(3, 15, 12), (2, 10, 10)],
            "2 trials of 5 trial points and 25 sheets, 22 of them with valid tensile tests.",
        ),
    ],
)
def test_trials_are_counted(rows, text):
    trials_of = [
        {"n_points": points, "n_sheets": sheets, "n_tested": tested} for points, sheets, tested in rows
    ]
    assert trial_findings.of_trials(trials_of) == text


def trial_row(name="T1", furnishes=("F1",), lowest=1.0, highest=1.2):
    return {
        "trial": name, "n_points": 2, "n_sheets": 10, "n_tested": 9, "first_formed_at_utc": AT,
        "last_formed_at_utc": AT, "lowest_jet_to_wire_ratio": lowest, "highest_jet_to_wire_ratio": highest,
        "furnishes": list(furnishes),
    }  # fmt: skip


def test_a_trial_lists_each_furnish_once_and_counts_the_rest():
    assert trials.row_cells(trial_row(furnishes=("F1, F2", "F2, F3", None)))["furnishes"] == "F1, F2, F3"
    many = [f"F{number}" for number in range(11)]
    assert trials.row_cells(trial_row(furnishes=many))["furnishes"].endswith("F6, F7 and 3 more")
    assert trials.row_cells(trial_row(furnishes=[None]))["furnishes"] == "–"


@pytest.mark.parametrize(
    ("lowest", "highest", "text"),
    [(0.849, 1.351, "0.849 to 1.35"), (1.1501, 1.1499, "1.15"), (None, None, "–")],
)
def test_a_trial_shows_the_range_of_its_ratios(lowest, highest, text):
    assert trials.row_cells(trial_row(lowest=lowest, highest=highest))["jet_to_wire_ratio"] == text


def rows_of(**given):
    """Return the rows that the pages read: the settings and the given rows, else none."""
    names = (
        "night", "start_file", "held", "start_unmatched", "start_climate", "start_tank", "start_curve", "start_sheet",
        "start_test", "trial", "typical_uncertainty",
    )  # fmt: skip
    setting = {"laboratory": "A laboratory", "time_zone": "UTC"}
    return Published({name: [] for name in names} | {"setting": [setting]} | given)


def test_next_steps_of_an_empty_laboratory():
    html = page(rows_of())
    assert "Copy the forming log and the testers&#39; exports into the folder inbox." in html
    assert "sheetlore nightly" in html
    assert "Nothing to do" not in html
    assert "No trial yet." in html
    assert "No sheet yet." in html
    assert "<figure" not in html
    assert "vega.js" not in html, "no chart, no library for one"
    assert "No trial yet: trials come from the forming log." in trials.page(rows_of())


def test_next_steps_when_everything_is_on_hold():
    html = page(rows_of(night=[run(sheets=0, loaded=0, held=28)], held=[held_of(n_held=28)]))
    assert "Nothing is imported yet: every file or line is on hold. Follow the remedies below." in html
    assert "Add the forming log: results count once it names their sheets." in html


def test_next_steps_without_valid_results():
    tests = [test_of(n_valid=0, reasons=["no_conditioning"] * 10)]
    html = page(rows_of(night=[run()], start_test=tests, start_climate=[air("unverified", 10)]))
    assert "No result is valid. Add the rooms&#39; climate logs and the conditioning log." in html
    admitted = page(
        rows_of(night=[run()], start_test=tests, start_climate=[air("unverified", 10, admitted=True)])
    )
    assert "No result is valid" not in admitted


def test_the_page_says_when_there_is_nothing_to_do():
    html = page(rows_of(night=[run()], start_test=[test_of()]))
    assert "Nothing to do: nothing is on hold, and the sheets of open trials have all their tests." in html
    assert "tests missing" not in html


def test_of(sheet="S1", test="tensile MD", trial="T1", **values):
    return {
        "sheet_id": sheet, "trial": trial, "trial_point": "P1", "formed_at_utc": AT, "test": test, "n_results": 10,
        "n_valid": 10, "reasons": None, "required": 10, "is_open": True,
    } | values  # fmt: skip


test_of.__test__ = False


@pytest.mark.parametrize(
    ("row", "state", "why"),
    [
        (test_of(), work.DONE, None),
        (test_of(n_results=12, n_valid=10, reasons=["clamp_break"] * 2), work.DONE, None),
        (test_of(n_results=0, n_valid=0), work.MISSING, "No result; 10 required"),
        (test_of(n_results=7, n_valid=7), work.TOO_FEW, "7 of 10 valid"),
        (
            test_of(n_valid=7, reasons=["clamp_break", "clamp_break", "humidity_out"]),
            work.TOO_FEW,
            "7 of 10 valid; left out: 2 clamp break, 1 humidity out",
        ),
        (
            test_of(n_valid=0, reasons=["no_conditioning"] * 10),
            work.NOT_VALID,
            "0 of 10 valid; left out: 10 no conditioning",
        ),
        (test_of(n_results=0, n_valid=0, required=None), None, None),
        (test_of(n_results=2, n_valid=2, required=None), work.DONE, None),
    ],
)
def test_state_of_a_test_and_its_reason(row, state, why):
    assert work.state_of(row) == state
    assert [listed["why"] for listed in work.retests([row])] == ([why] if why else [])


def test_open_trials_show_a_matrix_of_sheets_and_tests():
    rows = [
        test_of("S1", n_results=0, n_valid=0),
        test_of("S1", "moisture", n_results=2, n_valid=2, required=2),
        test_of("S2"),
        test_of("S2", "moisture", n_results=2, n_valid=2, required=2),
        test_of("S9", trial="T9", is_open=False, n_results=3, n_valid=3),
    ]
    (trial,) = work.trials(rows)
    assert [column.name for column in trial.columns] == ["sheet_id", "trial_point", "tensile MD", "moisture"]
    (row,) = trial.rows
    assert (row["sheet_id"].text, row["tensile MD"].state, row["moisture"].text) == ("S1", work.MISSING, "2")
    assert trial.n_complete == 1
    assert work.older(rows) == [("T9", 1)]
    assert work.required(rows) == "tensile MD 10, moisture 2"
    html = page(rows_of(night=[run()], start_test=rows))
    assert "1 sheet of open trials has tests missing or too few" in html
    assert "1 more sheet has all tests." in html
    assert ">T9</a> (1 sheet)" in html
    assert '<td class="number">10</td><td class="long">No result; 10 required</td>' in html


@pytest.mark.parametrize(
    ("held", "where"),
    [
        (held_of(whole=True), "<b>Range</b>: 1 file<br>a.csv</p>"),
        (held_of(), "<b>Range</b>: 1 line<br>a.csv, line 9, column F</p>"),
        (
            held_of(n_held=12345, last_line=20000, column_name=None),
            "<b>Range</b>: 12\u202f345 lines<br>a.csv, lines 9 to 20000</p>",
        ),
        (
            held_of(n_held=30, n_files=6, file_names=["a.csv", "b.csv", "c.csv", "d.csv"]),
            "<b>Range</b>: 30 lines<br>a.csv, b.csv, c.csv, d.csv and 2 more, column F</p>",
        ),
    ],
)
def test_each_cause_of_a_hold_has_its_place_and_remedy(held, where):
    html = page(rows_of(held=[held]))
    assert where in html
    assert "Original text: <code>S1;-1,0</code>" in html
    assert "To do: Correct it." in html


def test_a_long_list_of_causes_is_cut_and_the_rest_counted():
    html = page(rows_of(held=[held_of(f"rule_{number}") for number in range(LISTED + 5)]))
    assert html.count("To do: ") == LISTED
    assert "5 causes more." in html
    assert "sheetlore held" in html


def test_sheets_with_tests_left_out_are_linked_and_the_rest_counted():
    sheets = [f"S{number}" for number in range(20)]
    html = page(rows_of(start_climate=[air("off_standard", 40, sheets=sheets)]))
    assert html.count(f'href="{links.sheet_page("S7")}"') == 1
    assert links.sheet_page("S8") not in html
    assert "and 12 more" in html


def test_a_curve_of_an_unknown_sheet_has_no_link():
    curve = {
        "sheet_id": "S1", "in_forming_log": False, "direction": "MD", "specimen_no": 1, "replicate_no": 1,
        "tester": "t", "tested_at_utc": None, "usable": True, "findings": "early_stop", "disagreement": None,
    }  # fmt: skip
    assert links.sheet_page("S1") not in page(rows_of(start_curve=[curve]))
    assert f'href="{links.sheet_page("S1")}"' in page(rows_of(start_curve=[curve | {"in_forming_log": True}]))


def test_runs_are_drawn_from_the_second_on():
    assert "<figure" not in page(rows_of(night=[run()]))
    html = page(rows_of(night=[run(loaded=120, held=1), run(loaded=100, held=3)]))
    (content,) = re.findall(r'<script type="application/json" id="page-data">(.*?)</script>', html, re.S)
    figures = json.loads(content)["figures"]
    titles = {key: figure["variants"][""]["title"] for key, figure in figures.items()}
    assert titles == {
        "loaded": "120 lines imported after the newest of 2 runs, 100 after the first",
        "lines-held": "1 line on hold after the newest of 2 runs, 3 after the first",
    }


def test_texts_from_files_stay_texts():
    held = held_of(
        HOSTILE, file_name=HOSTILE, file_names=[HOSTILE], column_name=HOSTILE, original_text=HOSTILE, what=HOSTILE,
        remedy=HOSTILE,
    )  # fmt: skip
    html = page(
        rows_of(
            held=[held],
            start_unmatched=[
                unmatched_number(HOSTILE, 1) | {"suggested_sheet_id": LONG, "suggestion_reason": HOSTILE}
            ],
            start_climate=[
                air("unverified", 1, sheets=(HOSTILE,)) | {"reason_code": HOSTILE, "reason": HOSTILE}
            ],
            start_test=[
                test_of(HOSTILE, HOSTILE, HOSTILE, n_valid=1, reasons=[HOSTILE], trial_point=HOSTILE)
            ],
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


def test_the_demo_laboratorys_mistakes_are_listed_with_remedies(published, demo_night):
    html = page(published)
    for row in published.all("held"):
        assert row["file_name"] in html
        assert row["remedy"] in unescape(html)
    assert "thickness-us_004.csv" in html
    assert "JW-001: looks alike" in html
    assert f"{demo_night.report.night['sheets']} sheets" in html
    assert "9 of 10 valid; left out: 1 clamp slip, 1 saturated" in html
    assert sum(row["n_files"] for row in published.all("start_file")) == len(
        {path for path in demo_night.laboratory.inbox.rglob("*") if path.is_file()}
    ) - repeated_files(demo_night)


def repeated_files(demo_night):
    """Return the number of files in the inbox that are copies of another one."""
    contents = [path.read_bytes() for path in demo_night.laboratory.inbox.rglob("*") if path.is_file()]
    return len(contents) - len(set(contents))
