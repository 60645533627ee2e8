"""The start page and the index of trials in a browser: the age, the links, the filter, and the charts of runs."""

import re
from datetime import timedelta

import pytest
from conftest import CHECKED_AT

from pipelines.flows import steps
from pipelines.site import building, links
from pipelines.site.writing import Folder

pytestmark = pytest.mark.slow


@pytest.fixture
def trials(opened):
    return opened(links.TRIALS)


def shown_trials(page):
    return page.locator("#trials tbody tr:visible th").all_inner_texts()


@pytest.fixture
def small_site(small, tmp_path):
    """The site of a small laboratory after three runs: a test without a forming log, its log, and a mistyped number."""
    small.readings("a.csv", "S1,1,95,AB", "S2,1,-5,AB")
    steps.run(small)
    small.log("log.csv", "S1,trial A,point 1,")
    steps.run(small)
    small.readings("b.csv", "S1,2,96,AB", "S-1,1,97,AB")
    report = steps.run(small)
    root = tmp_path / "site"
    building.build(report.snapshot, Folder(root), CHECKED_AT)
    return root


@pytest.mark.parametrize(
    ("later", "text"),
    [
        (timedelta(hours=23, minutes=59), None),
        (timedelta(hours=25), "This page is 25 hours old"),
        (timedelta(days=3, hours=5), "This page is 3 days old"),
    ],
)
def test_a_page_says_that_it_is_older_than_a_day(opened, later, text):
    page = opened(links.START)
    page.clock.set_fixed_time(f"{(CHECKED_AT + later).isoformat()}Z")
    page.reload()
    assert page.locator("#as-of").inner_text().startswith("As of 2026-10-01 06:30, from ")
    if text is None:
        assert page.locator("#age").is_hidden()
    else:
        assert page.locator("#age").inner_text().startswith(text)


@pytest.mark.parametrize("path", [links.START, links.TRIALS, links.SHEETS, links.TESTERS, links.TABLES])
def test_every_page_names_the_zone_of_its_times_once(opened, path):
    assert opened(path).locator("footer").inner_text().count("Times: Europe/Helsinki.") == 1


@pytest.mark.parametrize("path", [links.START, links.TRIALS])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_inaccessible_or_wider_than_the_screen(opened, drawn, axe, path, scheme):
    page = drawn(opened(path, width=420, scheme=scheme))
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0


def test_each_item_of_the_list_links_to_its_section(opened):
    page = opened(links.START)
    needs = page.locator("main > ul").first.locator("a")
    assert needs.all_inner_texts() == [
        "4 files and 13 lines are on hold",
        "1 sheet of open trials has tests missing or too few",
        "5 results have an unknown sheet number (1 number)",
        "6 tests outside the standard atmosphere and 9 tests without a complete climate record; not in the means",
        "4 raw curves to look at and 5 raw curves disagree with the tester",
    ]
    for place in range(needs.count()):
        target = needs.nth(place).get_attribute("href")
        assert page.locator(target).count() == 1
    assert page.locator("#held ~ .cases li").count() == 9
    (clocks,) = page.locator(".cases li", has_text="Clock change").all()
    assert "8 lines" in clocks.inner_text(), "one sentence for like rows"
    assert "Original text: 25.10.2026;03:00;23,0800;49,6000" in clocks.inner_text()


def test_the_matrix_says_what_is_left_and_the_list_can_be_printed_alone(opened):
    page = opened(links.START)
    matrix = page.get_by_role("table", name="jet-to-wire ladder")
    assert matrix.locator("tbody .to-do").all_inner_texts() == ["◐ 9 of 10"]
    assert page.get_by_role("table", name="Test pieces to test").locator("tbody tr").count() == 1
    alone = opened(links.START, fragment="#retests")
    alone.emulate_media(media="print")
    assert alone.locator("main h2:visible").all_inner_texts() == ["Test pieces to test"]
    page.emulate_media(media="print")
    assert page.locator("main h2:visible").count() > 4


def test_links_of_the_start_page_have_targets(opened, demo_site):
    page = opened(links.START)
    targets = set(
        page.eval_on_selector_all("main a[href]", "all => all.map(one => one.getAttribute('href'))")
    )
    pages = {target for target in targets if not target.startswith("#")}
    assert len(pages) > 15
    assert [target for target in pages if not (demo_site / target.partition("#")[0]).is_file()] == []


def test_runs_are_drawn_when_there_are_several(opened, drawn, axe, small_site):
    page = drawn(opened(links.START, site=small_site))
    assert page.locator("figure svg").count() == 2
    titles = page.locator("figure .finding").all_inner_texts()
    assert titles == [
        "4 lines imported after the newest of 3 runs, 1 after the first",
        "1 line on hold after the newest of 3 runs, as after the first",
    ]
    runs = page.evaluate("sheetlorePage.views.get('loaded').data('runs')")
    assert [run["rows_loaded"] for run in runs] == [4, 2, 1]
    run = page.locator("#runs + p").inner_text()
    assert re.fullmatch(r"Run of 2\S+ \S+: 1 new file, 2 lines imported\.", run)
    assert page.get_by_text("In all: 1 sheet, 0 tensile test pieces.").count() == 1
    assert "1 result has an unknown sheet number (1 number)" in page.locator("main > ul").first.inner_text()
    assert axe(page) == []


def test_trials_are_filtered_by_words_whatever_their_case(trials):
    assert len(shown_trials(trials)) == 4
    trials.fill("input[type=search]", "SERIES refined")
    assert shown_trials(trials) == ["refining series", "furnish series"]
    assert trials.locator("#trials-count").inner_text() == "2 of 4"
    trials.fill("input[type=search]", "no such trial")
    assert shown_trials(trials) == []
    trials.fill("input[type=search]", "")
    assert len(shown_trials(trials)) == 4
    assert trials.locator("#trials-count").inner_text() == ""


def test_a_filter_stays_when_the_table_is_sorted(trials):
    trials.fill("input[type=search]", "series")
    trials.locator("#trials thead button").first.click()
    assert shown_trials(trials) == ["furnish series", "refining series"]


def test_the_filter_and_the_trials_are_reached_by_keyboard(trials):
    trials.focus("input[type=search]")
    trials.keyboard.type("ladder")
    focused = []
    for _ in range(12):
        trials.keyboard.press("Tab")
        focused.append(trials.evaluate("document.activeElement.textContent"))
    assert "jet-to-wire ladder" in focused
    assert "refining series" not in focused, "a hidden row is not in the way"


def test_names_of_80_characters_without_spaces_fit_a_narrow_window(opened, drawn, small, tmp_path):
    sheet, trial, point = ("S" * 80, "T" * 80, "P" * 80)
    small.readings(f"{'f' * 80}.csv", f"{sheet},1,95,AB", f"{sheet},2,-5,AB", f"{'U' * 80},1,97,AB")
    small.log("log.csv", f"{sheet},{trial},{point},")
    report = steps.run(small)
    root = tmp_path / "site"
    building.build(report.snapshot, Folder(root), CHECKED_AT)
    pages = (links.START, links.TRIALS, links.SHEETS, links.sheet_page(sheet), links.sheet_page("U" * 80))
    for path in pages:
        page = drawn(opened(path, width=420, site=root))
        overflow = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(overflow) == 0, path
        widest = (
            "Math.max(0, ...[...document.querySelectorAll('td, tbody th')].map((cell) => cell.offsetWidth))"
        )
        assert page.evaluate(widest) < 440, path
