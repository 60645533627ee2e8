"""Rules for every page of the site, tested on the longest page of each kind."""

import itertools
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag

import hostile
import pytest

from pipelines.demo import laboratory as demo_laboratory
from pipelines.flows import steps
from pipelines.site import links

KINDS = {links.START, links.TRIALS, links.SHEETS, links.TESTERS, links.TABLES, "trial", "sheet"}
"""Each page in the site's folder is its own kind; pages in a subfolder are one kind."""

CONTROLS = """() => [...document.querySelectorAll(
    "a[href], button, input, select, textarea, summary, [tabindex='0']")]
    .filter((one) => one.tabIndex >= 0 && !one.disabled && one.checkVisibility({ visibilityProperty: true }))"""

WATCH_FOCUS = f"""() => {{
    window.controls = ({CONTROLS})();
    window.reached = new Set();
    document.addEventListener("focusin", ({{ target }}) => window.reached.add(target));
    return window.controls.length;
}}"""

NOT_REACHED = """() => window.controls.filter((one) => !window.reached.has(one))
    .map((one) => one.outerHTML.slice(0, 200))"""

UNDRAWN = """() => [...document.querySelectorAll("[data-figure]")]
    .filter((figure) => !figure.querySelector("svg[role=img][aria-label] [class*=role-mark] :is(path, text)"))
    .map((figure) => figure.id)"""

KEEP_AN_ENTRY_OF_EACH_FORM = """() => {
    const seen = new Set(), name = (one) => `${one.tagName}.${one.getAttribute("class")}`;
    for (const entry of document.querySelectorAll("tbody tr, dl > div")) {
        const parts = [entry, ...entry.querySelectorAll("*")].map((one) => `${name(one.parentElement)}>${name(one)}`);
        const form = [...new Set(parts)].sort().join();
        if (seen.has(form)) entry.remove(); else seen.add(form);
    }
}"""
"""Remove entries of tables and lists with the same elements and classes as an earlier one."""

MADE_OF_TEXT = """() => [...document.querySelectorAll(
    "img, iframe, object, embed, base, script:not([src]):not([type='application/json']), " +
    "[onerror], [onload], [onmouseover], [href^='javascript:' i]")]
    .map((element) => element.outerHTML.slice(0, 200))"""

FIRST_CHART = """() => new Promise((tell) => {
    const look = () => {
        if (document.querySelector(".chart svg path")) tell(performance.now());
        else requestAnimationFrame(look);
    };
    look();
})"""


def kind_of(page: Path, site: Path) -> str:
    return page.relative_to(site).parts[0]


def longest_of_each_kind(site: Path) -> dict[str, str]:
    """Return the path within the site of one page of each kind."""
    pages = sorted(site.rglob("*.html"), key=lambda page: page.stat().st_size)
    return {kind_of(page, site): page.relative_to(site).as_posix() for page in pages}


def links_of(page: Path) -> tuple[list[str], set[str]]:
    """Return the targets of a page's links, scripts and styles, and the ids in it."""
    targets, ids = [], set()

    class Reader(HTMLParser):
        def handle_starttag(self, tag, attrs):
            attributes = dict(attrs)
            ids.add(attributes.get("id"))
            targets.extend(attributes[name] for name in ("href", "src") if name in attributes)

    Reader().feed(page.read_text(encoding="utf-8"))
    return targets, ids


@pytest.fixture(scope="module")
def one_page(demo_site):
    return longest_of_each_kind(demo_site)


@pytest.fixture(scope="module")
def hostile_site(made_once):
    return made_once("hostile", lambda folder: hostile.write(folder / "lab").site)


def test_every_kind_of_page_is_tested_here(one_page):
    assert set(one_page) == KINDS


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.slow)])
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_page_is_drawn_and_accessible(opened, drawn, axe, one_page, kind, scheme):
    """Light colours: the whole page. Dark colours change nothing else, so one entry of each form is enough."""
    page = drawn(opened(one_page[kind], scheme=scheme))
    assert page.evaluate(UNDRAWN) == []
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    if scheme == "dark":
        page.evaluate(KEEP_AN_ENTRY_OF_EACH_FORM)
    assert axe(page) == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_page_fits_a_narrow_window(opened, drawn, one_page, kind):
    page = drawn(opened(one_page[kind], width=420))
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    width = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(width) == 0


@pytest.mark.slow
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_keyboard_reaches_every_control(opened, one_page, kind):
    page = opened(one_page[kind])
    count = page.evaluate(WATCH_FOCUS)
    assert count > 5
    for _ in range(count + 20):  # a date is a control with several stops
        page.keyboard.press("Tab")
    assert page.evaluate(NOT_REACHED) == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_headings_are_in_order(opened, one_page, kind):
    levels = opened(one_page[kind]).evaluate(
        "[...document.querySelectorAll('h1, h2, h3, h4, h5, h6')].map((head) => Number(head.tagName[1]))"
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(below - above <= 1 for above, below in itertools.pairwise(levels))


@pytest.mark.slow
def test_every_link_has_a_target(demo_night):
    """Some lead out of the site's folder, to published files beside it."""
    pages = {page.resolve(): links_of(page) for page in demo_night.laboratory.site.rglob("*.html")}
    astray = []
    for page, (targets, _) in pages.items():
        for target in targets:
            path, name = urldefrag(target)
            if re.match(r"[a-z]+:", path):
                assert path == "data:,", "a link out of the site"
                continue
            leads_to = (page.parent / unquote(path)).resolve() if path else page
            if not leads_to.is_file() or (name and name not in pages[leads_to][1]):
                astray.append((page.name, target))
    assert astray == []


@pytest.mark.slow
def test_every_row_of_the_table_of_all_sheets_leads_to_a_page(demo_site):
    script = (demo_site / "assets" / "sheets-data.js").read_text(encoding="utf-8")
    table = json.loads(script[script.index("{") :].rstrip().removesuffix(";"))
    targets = [path for column in table["columns"] for path in column.get("pages", ())]
    assert len(targets) > 60
    assert [path for path in targets if not (demo_site / path).is_file()] == []


@pytest.mark.slow
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_page_prints(opened, one_page, kind):
    page = opened(one_page[kind])
    printed = page.pdf(format="A4")
    assert printed.startswith(b"%PDF")
    assert b"/Font" in printed
    page.emulate_media(media="print")
    assert page.locator("h1").is_visible()
    assert not page.locator("nav").first.is_visible()
    assert page.evaluate(UNDRAWN) == [], "figures out of sight are drawn for the printer"


@pytest.mark.slow
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_hostile_texts_stay_texts(opened, drawn, hostile_site, kind):
    page = drawn(opened(longest_of_each_kind(hostile_site)[kind], site=hostile_site))
    page.mouse.move(300, 300)
    assert page.evaluate(MADE_OF_TEXT) == []
    shown = page.locator("body").inner_text()
    assert hostile.TEXTS[1] in shown, "the laboratory's name, as it was written"
    assert str(1237 * 1013) not in shown.replace("\u202f", "")


@pytest.mark.slow
def test_every_page_of_the_hostile_laboratory_has_a_plain_path(hostile_site):
    for path in hostile_site.rglob("*"):
        assert re.fullmatch(r"[a-z0-9.-]+", path.name)


@pytest.mark.slow
def test_the_first_chart_of_a_trial_of_forty_sheets(opened, tmp_path, capsys):
    """The test prints the time and asserts no limit, which would depend on the machine."""
    laboratory = demo_laboratory.write(tmp_path / "lab", sheets=120).laboratory
    steps.run(laboratory)
    trial = longest_of_each_kind(laboratory.site)["trial"]
    page = opened(trial, site=laboratory.site)
    drawn_after = page.evaluate(FIRST_CHART)
    with capsys.disabled():
        print(
            f"\nFirst chart of {page.locator('#trial-sheets tbody tr').count()} sheets: {drawn_after:.0f} ms after "
            "the navigation began"
        )
