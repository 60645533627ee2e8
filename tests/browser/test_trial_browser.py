"""The page of a trial in a browser: its choices, its filters, and the brush that links charts and table."""

import pytest

from pipelines.site import links

PAGE = links.trial_page("jet-to-wire ladder")
LAYERED = links.trial_page("layered sheets")


@pytest.fixture
def page(opened, drawn):
    return drawn(opened(PAGE))


def title(page, figure):
    return page.locator(f"[data-figure={figure}] .finding").inner_text()


def rows_of(page, figure):
    """Return the marks of a figure's view, as rows of its data."""
    return page.evaluate(
        "([figure, name]) => sheetlorePage.views.get(figure).data(name).length", [figure, "pieces"]
    )


def drag(page, figure, start, end):
    """Draw a rectangle over a chart, from one place to another, in parts of its width and height."""
    area = page.locator(f"[data-figure={figure}] svg")
    area.scroll_into_view_if_needed()
    box = area.bounding_box()
    at = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in (start, end)]
    page.mouse.move(*at[0])
    page.mouse.down()
    page.mouse.move(*at[1], steps=8)
    page.mouse.up()


def test_the_choice_of_a_property_changes_every_chart_and_its_title(page):
    assert title(page, "points").startswith("Tensile index is highest at")
    before = page.locator("[data-figure=points] svg").inner_html()
    page.select_option("#choice", "stretch")
    page.wait_for_function(
        "document.querySelector('[data-figure=points] .finding').textContent.startsWith('Stretch')"
    )
    assert title(page, "response").startswith("MD/CD of stretch")
    assert page.locator("[data-figure=points] svg").inner_html() != before
    assert "Stretch, %" in page.locator("[data-figure=points] svg").text_content()
    assert page.locator("[data-figure=points] svg").get_attribute("aria-label") == title(page, "points")


def test_a_brush_chooses_sheets_in_every_chart_and_in_the_table(page):
    # the left fifth of the chart: the sheets of the lowest ratio
    drag(page, "response", (0.12, 0.1), (0.35, 0.8))
    page.wait_for_function("sheetlorePage.state.chosen.length > 0")
    chosen = page.evaluate("sheetlorePage.state.chosen")
    in_table = page.eval_on_selector_all("tr.chosen", "rows => rows.map(row => row.dataset.key)")
    assert sorted(in_table) == sorted(chosen)
    points = page.eval_on_selector_all("tr.chosen", "rows => rows.map(row => row.dataset.group)")
    assert set(points) == {"ratio 0.85"}
    assert page.locator("#chosen-count").inner_text() == f"{len(chosen)} chosen"
    for figure in ("density", "strips", "points"):
        signal = page.evaluate("figure => sheetlorePage.views.get(figure).signal('chosen')", figure)
        assert signal == chosen
    opacities = page.eval_on_selector_all(
        "[data-figure=strips] svg .mark-symbol path",
        "marks => marks.map(mark => mark.getAttribute('opacity'))",
    )
    assert len(set(opacities)) > 1, "the others are pale"
    page.click("#clear-choice")
    page.wait_for_function("sheetlorePage.state.chosen.length === 0")
    assert page.locator("tr.chosen").count() == 0
    assert page.locator("#clear-choice").is_disabled()


def test_a_brush_over_density_takes_the_sheets_that_are_drawn_there(page):
    drag(page, "density", (0.15, 0.15), (0.98, 0.5))
    page.wait_for_function("sheetlorePage.state.chosen.length > 0")
    limits = page.evaluate("sheetlorePage.views.get('density').signal('brush')")
    chosen = set(page.evaluate("sheetlorePage.state.chosen"))
    (density, value) = limits["apparent_density_kg_m3"], limits["value"]
    rows = page.evaluate("sheetlorePage.data.values")
    inside = {
        row["sheet_id"]
        for row in rows
        if row["property"] == "tensile_index"
        and row["direction"] in ("MD", "CD")
        and min(density) <= row["apparent_density_kg_m3"] <= max(density)
        and min(value) <= row["value"] <= max(value)
    }
    assert chosen == inside


def test_a_tick_in_the_table_chooses_a_sheet_by_keyboard(page):
    box = page.locator("table[data-sheets] tbody tr").first.locator("input")
    box.focus()
    page.keyboard.press("Space")
    page.wait_for_function("sheetlorePage.state.chosen.length === 1")
    assert page.evaluate("sheetlorePage.views.get('strips').signal('chosen')") == ["JW-001"]
    page.keyboard.press("Space")
    page.wait_for_function("sheetlorePage.state.chosen.length === 0")


def test_a_filter_takes_a_trial_point_out_of_charts_and_table(page):
    pieces = rows_of(page, "strips")
    page.get_by_label("ratio 1.35", exact=True).uncheck()
    page.wait_for_function(f"sheetlorePage.views.get('strips').data('pieces').length < {pieces}")
    assert page.locator("table[data-sheets] tbody tr:visible").count() == 15
    assert "ratio 1.35" not in page.locator("[data-figure=points] svg").text_content()
    page.get_by_label("ratio 1.35", exact=True).check()
    page.wait_for_function(f"sheetlorePage.views.get('strips').data('pieces').length === {pieces}")
    assert page.locator("table[data-sheets] tbody tr:visible").count() == 20


def test_the_table_behind_a_chart_has_the_rows_that_are_drawn(page):
    page.click("[data-figure=density] summary")
    rows = "document.querySelectorAll('[data-figure=density] [data-behind] tbody tr').length"
    page.wait_for_function(f"{rows} === 40")
    page.get_by_label("ratio 0.85", exact=True).uncheck()
    page.wait_for_function(f"{rows} === 30")
    heads = page.locator("[data-figure=density] [data-behind] thead th")
    assert "Tensile index, N·m/g" in " ".join(heads.all_inner_texts())


def test_a_table_is_sorted_by_its_heads(page):
    head = page.locator("table[data-sheets] thead th", has_text="Grammage")
    column = "rows => rows.map(row => parseFloat(row.cells[5].textContent))"
    head.get_by_role("button").click()
    rising = page.eval_on_selector_all("table[data-sheets] tbody tr", column)
    assert head.get_attribute("aria-sort") == "ascending"
    assert rising == sorted(rising)
    head.get_by_role("button").click()
    assert page.eval_on_selector_all("table[data-sheets] tbody tr", column) == rising[::-1]


def test_pieces_that_do_not_count_are_hollow(page):
    hollow = page.locator("[data-figure=strips] svg .mark-symbol path[fill='transparent']")
    left_out = page.evaluate(
        "sheetlorePage.data.pieces.filter(piece => !piece.in_means && piece.tensile_index_nm_g).length"
    )
    assert hollow.count() == left_out > 0


def test_the_response_has_its_curve_its_band_and_its_minimum(page):
    chart = page.locator("[data-figure=response] svg")
    assert chart.locator(".mark-area path").count() == 1
    assert chart.locator(".mark-line path").count() == 1
    assert chart.locator(".mark-rule.role-mark line[stroke-dasharray]").count() == 1
    assert "is lowest" in title(page, "response")


def test_layers_are_drawn_in_their_order(opened, drawn):
    page = drawn(opened(LAYERED))
    assert page.locator("[data-figure=layers] svg .mark-rect path").count() == 6
