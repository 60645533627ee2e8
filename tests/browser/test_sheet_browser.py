"""The page of a sheet in a browser: curves, the choice of a property, the air, and folded parts."""

import re

import pytest
from playwright.sync_api import expect

from pipelines.site import links

pytestmark = pytest.mark.slow

LAYERED, TROUBLED, MISTYPED = "LS-006", "JW-003", "JW-O01"

UNFOLD = "document.querySelectorAll('details').forEach((part) => { part.open = true; })"
OVERFLOWS = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.fixture
def shown(opened, drawn):
    """Open a sheet's page with every figure drawn."""
    return lambda sheet_id, **how: drawn(opened(links.sheet_page(sheet_id), **how))


def rows(page, name):
    return page.evaluate(f"sheetlorePage.data.{name}")


def marks(page, figure, kind):
    """Return the drawn marks of a kind, such as ``mark-line``."""
    return page.locator(f"#{figure} .chart svg .{kind} path")


def axis_title(page, figure, axis):
    return page.locator(f"#{figure} svg .role-axis-title").nth({"x": 0, "y": 1}[axis]).text_content()


def test_each_curve_has_a_line_and_a_mark_at_its_maximum(shown):
    page = shown(TROUBLED)
    curves = rows(page, "curves")
    left_out = [row for row in curves if not row["in_means"]]
    assert (len(curves), len(left_out)) == (6, 2)
    lines = marks(page, "curves", "mark-line")
    assert lines.count() == len(curves)
    dashes = lines.evaluate_all("all => all.map((line) => line.getAttribute('stroke-dasharray'))")
    assert dashes.count("4,3") == len(left_out)
    maxima = marks(page, "curves", "mark-symbol.role-mark")
    fills = maxima.evaluate_all("all => all.map((mark) => mark.getAttribute('fill'))")
    assert len(fills) == sum(row["max_y"] is not None for row in curves)
    assert fills.count("transparent") == len(left_out)
    assert axis_title(page, "curves", "x") == "Stretch, %"
    assert axis_title(page, "curves", "y") == "Force per width, kN/m"


def test_choosing_a_property_changes_values_axes_and_title(shown):
    page = shown(LAYERED)
    finding = page.locator("#position .finding")
    expect(finding).to_contain_text("Tensile strength")
    assert axis_title(page, "position", "y") == "Tensile strength, kN/m"
    legend = page.locator("#position .role-legend-label text")
    assert legend.all_text_contents() == ["MD", "CD"]
    page.select_option("#choice", "thickness")
    expect(finding).to_contain_text("Thickness")
    expect(legend).to_have_text(["single sheets", "packs"])
    assert axis_title(page, "position", "y") == "Thickness, µm"
    assert axis_title(page, "position", "x") == "Position number"
    symbols = marks(page, "position", "mark-symbol.role-mark")
    assert symbols.count() == sum(row["thickness_um"] is not None for row in rows(page, "readings"))
    assert marks(page, "position", "mark-rect").count() == 1, "the band of the mean's interval"


def test_temperature_and_humidity_share_their_time(shown):
    page = shown(TROUBLED)
    domains = [
        page.evaluate(f"sheetlorePage.views.get('{figure}').scale('x').domain().map(Number)")
        for figure in ("temperature", "humidity")
    ]
    assert domains[0] == domains[1]
    assert marks(page, "temperature", "mark-line").count() == 2, "the line is broken where nothing was read"
    title = page.locator("#temperature .finding").text_content()
    farthest = max(float(value) for run in rows(page, "air") for value in run["temperatures_c"].split())
    assert float(re.search(r"was ([\d.]+) °C", title)[1]) == pytest.approx(farthest, abs=0.05)


def test_folded_parts_open_by_keyboard(shown):
    page = shown(LAYERED)
    summary = page.locator("summary", has_text="Tensile: 20 records")
    table = summary.locator("xpath=..").locator("table")
    expect(table).to_be_hidden()
    summary.focus()
    page.keyboard.press("Enter")
    expect(table).to_be_visible()
    assert table.locator("tbody tr").count() == 20


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_inaccessible_with_all_unfolded(shown, axe, scheme):
    page = shown(TROUBLED, scheme=scheme)
    page.evaluate(UNFOLD)
    assert axe(page) == []


@pytest.mark.parametrize("sheet_id", [LAYERED, TROUBLED, MISTYPED])
def test_a_sheet_fits_a_narrow_window_with_all_unfolded(shown, sheet_id):
    page = shown(sheet_id, width=420)
    page.evaluate(UNFOLD)
    assert not page.evaluate(OVERFLOWS)


def test_a_mistyped_number_links_to_the_suggested_sheet(shown):
    page = shown(MISTYPED)
    page.get_by_role("link", name="JW-001").click()
    expect(page.locator("h1")).to_have_text("Sheet JW-001")


SIGNS = """(table) => [...table.tHead.rows[0].cells].filter((head) => head.classList.contains("number")).map((head) =>
    [...table.tBodies[0].rows].map((row) => row.cells[head.cellIndex]).filter((cell) => cell.textContent.includes("±"))
    .map((cell) => {
        const place = (text, from, to) => {
            const range = document.createRange();
            range.setStart(text, from);
            range.setEnd(text, to);
            return range.getBoundingClientRect();
        };
        const [value, uncertainty] = [cell.firstChild, cell.lastChild.firstChild];
        const sign = place(uncertainty, uncertainty.data.indexOf("±"), uncertainty.data.indexOf("±") + 1);
        const font = parseFloat(getComputedStyle(cell).fontSize);
        return [sign.left, sign.left - place(value, 0, value.length).right, font];
    }))"""
"""For each column of numbers, for each cell: the place of its ±, the gap from the value, and the size of the font."""


@pytest.mark.parametrize("media", ["screen", "print"])
def test_uncertainties_are_aligned_and_follow_their_value_without_a_gap(shown, media):
    page = shown(LAYERED)
    page.emulate_media(media=media)
    for caption in ("Mean of the valid tests", "Whole sheet: mean"):
        table = page.locator("table", has=page.get_by_text(caption))
        columns = [cells for cells in table.evaluate(SIGNS) if cells]
        assert columns
        for cells in columns:
            assert len(cells) > 2
            signs = [sign for sign, _, _ in cells]
            assert max(signs) - min(signs) <= 1
            assert all(0 < gap < font for _, gap, font in cells), cells


@pytest.mark.parametrize("sheet_id", [LAYERED, TROUBLED, "RS-001"])
def test_a_sheet_prints_on_two_pages(shown, sheet_id):
    printed = shown(sheet_id).pdf(format="A4", prefer_css_page_size=True)
    pages = len(re.findall(rb"/Type\s*/Page\b", printed))
    assert pages == 2


def test_printed_tables_repeat_their_headings_and_do_not_cut_rows(shown):
    page = shown(LAYERED)
    page.emulate_media(media="print")
    style = "(part, name) => getComputedStyle(part)[name]"
    assert page.locator("thead").first.evaluate(style, "display") == "table-header-group"
    assert page.locator("tbody tr").first.evaluate(style, "breakInside") == "avoid"
    link = page.locator(".lead a")
    assert link.evaluate(style, "textDecorationLine") == "none"
    assert link.evaluate(style, "color") == page.locator(".lead").evaluate(style, "color")
