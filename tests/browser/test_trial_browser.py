"""The page of a trial in a browser: choices, titles that follow them, the address, and links from marks to sheets."""

import itertools
import re
import shutil

import pytest

from pipelines.site import links
from pipelines.site.reading import Published, read
from pipelines.site.trial import page as trial_page

LADDER, LAYERED, REFINED = "jet-to-wire ladder", "layered sheets", "refining series"
PAGE = links.trial_page(LADDER)


@pytest.fixture
def page(opened, drawn):
    return drawn(opened(PAGE))


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def title(page, figure):
    return page.locator(f"[data-figure={figure}] .finding").inner_text()


def wait_for_title(page, figure, start):
    page.wait_for_function(
        "([figure, start]) => document.querySelector(`[data-figure=${figure}] .finding`).textContent.startsWith(start)",
        arg=[figure, start],
    )


def rows_of(page, figure, name):
    """Return the rows of a figure's view."""
    return page.evaluate("([figure, name]) => sheetlorePage.views.get(figure).data(name)", [figure, name])


def wait_for_drawings(page):
    """Wait until all drawings are done."""
    page.evaluate("Promise.all([...sheetlorePage.drawings.values()])")


def untick(page, point):
    page.get_by_label(point, exact=True).uncheck()
    wait_for_drawings(page)


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


def site_of(demo_site, tmp_path, rows, trial):
    """Write the page of a trial made of given rows beside the demo laboratory's scripts; return its path."""
    shutil.copytree(demo_site / "assets", tmp_path / "assets")
    path = tmp_path / links.trial_page(trial["trial"])
    path.parent.mkdir()
    path.write_text(trial_page.page(Published(rows), trial), encoding="utf-8")
    return path


def rows_of_trial(published, trial):
    """Return the rows of a trial's page, and its row of the statement ``trial``."""
    names = (
        "trial_value", "trial_mean", "trial_sheet", "trial_piece", "trial_layer", "trial_response", "trial_curve",
        "trial_condition",
    )  # fmt: skip
    rows = {name: published.of(name, trial=trial) for name in names} | {
        name: published.all(name) for name in ("setting", "typical_uncertainty")
    }
    (row,) = (row for row in published.all("trial") if row["trial"] == trial)
    return rows, row


def test_titles_follow_the_trial_points_that_are_shown(page):
    assert title(page, "points").startswith("Tensile index is highest in MD at ratio 1.35 (")
    assert title(page, "response").startswith("MD/CD of tensile index is lowest, 1.3")
    untick(page, "ratio 1.35")
    assert title(page, "points").startswith(
        "Of 3 of 4 trial points, tensile index is highest in MD at ratio 0.85 ("
    )
    assert "ratio 1.35" not in title(page, "points")
    assert re.match(r"MD/CD of tensile index is [\d.]+-[\d.]+ in 15 sheets$", title(page, "response"))
    assert "15 of 20 sheets" in title(page, "against")
    assert " of 15 sheets: " in title(page, "strips")
    for figure in ("points", "response", "against", "strips"):
        label = page.locator(f"[data-figure={figure}] svg").get_attribute("aria-label")
        assert label == title(page, figure)


def test_no_curve_is_drawn_for_a_part_of_the_sheets_it_is_fitted_to(page):
    chart = page.locator("[data-figure=response] svg")
    assert chart.locator(".mark-area path").count() == 1
    assert chart.locator(".mark-line path").count() == 1
    assert chart.locator(".mark-rule.role-mark line[stroke-dasharray]").count() == 1
    untick(page, "ratio 1.35")
    assert rows_of(page, "response", "curve") == rows_of(page, "response", "minimum") == []
    assert "it is not drawn for a part of them" in page.locator("[data-figure=response] .note").inner_text()


def test_intervals_that_overlap_are_called_undecided(page):
    assert (
        "in CD the highest is not decided by these data, intervals of ratio 1.00 and ratio 1.15 overlap"
        in title(page, "points")
    )


def test_a_trial_point_of_one_sheet_is_not_compared(opened, drawn, demo_site, published, tmp_path):
    rows, trial = rows_of_trial(published, LADDER)
    rows["trial_mean"] = [
        row | {"interval_low": None, "interval_high": None, "s": None, "n_sheets": 1}
        if row["trial_point"] == "ratio 1.35"
        else row
        for row in rows["trial_mean"]
    ]
    path = site_of(demo_site, tmp_path, rows, trial)
    page = drawn(opened(path.relative_to(tmp_path), site=tmp_path))
    assert "highest in MD at ratio 0.85" in title(page, "points")
    assert "of the 3 trial points with an interval" in title(page, "points")
    note = page.locator("[data-figure=points] .note").inner_text()
    assert "1 trial point of one sheet has no interval and is not compared." in note


def test_the_title_describes_the_chosen_sheets(page):
    # the left fifth of the chart: the sheets of the lowest ratio
    drag(page, "response", (0.12, 0.1), (0.35, 0.8))
    page.wait_for_function("sheetlorePage.state.chosen.length > 0")
    chosen = page.evaluate("sheetlorePage.state.chosen")
    in_table = page.eval_on_selector_all("tr.chosen", "rows => rows.map(row => row.dataset.key)")
    assert sorted(in_table) == sorted(chosen)
    points = page.eval_on_selector_all("tr.chosen", "rows => rows.map(row => row.dataset.group)")
    assert set(points) == {"ratio 0.85"}
    assert f"in {len(chosen)} chosen of 20 sheets" in title(page, "response")
    assert f", {len(chosen)} chosen of 20 sheets: " in title(page, "against")
    assert f"{len(chosen)} sheets chosen ({', '.join(chosen)}), the others pale." in page.inner_text("#shown")
    for figure in ("against", "strips", "points"):
        signal = page.evaluate("figure => sheetlorePage.views.get(figure).signal('chosen')", figure)
        assert signal == chosen
    opacities = page.eval_on_selector_all(
        "[data-figure=strips] svg .mark-symbol path",
        "marks => marks.map(mark => mark.getAttribute('opacity'))",
    )
    assert len(set(opacities)) > 1, "the others are pale"
    page.click("#show-all")
    page.wait_for_function("sheetlorePage.state.chosen.length === 0")
    wait_for_drawings(page)
    assert page.locator("tr.chosen").count() == 0
    assert page.locator("#show-all").is_disabled()
    assert title(page, "response").startswith("MD/CD of tensile index is lowest")


def test_a_rectangle_chooses_the_sheets_in_it(page):
    drag(page, "against", (0.15, 0.15), (0.98, 0.5))
    page.wait_for_function("sheetlorePage.state.chosen.length > 0")
    limits = page.evaluate("sheetlorePage.views.get('against').signal('brush')")
    inside = {
        row["sheet_id"]
        for row in rows_of(page, "against", "sheets")
        if min(limits["x"]) <= row["x"] <= max(limits["x"])
        and min(limits["value"]) <= row["value"] <= max(limits["value"])
    }
    assert set(page.evaluate("sheetlorePage.state.chosen")) == inside


def test_a_tick_in_the_table_chooses_a_sheet_by_keyboard(page):
    box = page.locator("#trial-sheets tbody tr").first.locator("input")
    box.focus()
    page.keyboard.press("Space")
    page.wait_for_function("sheetlorePage.state.chosen.length === 1")
    assert page.evaluate("sheetlorePage.views.get('strips').signal('chosen')") == ["JW-001"]
    page.keyboard.press("Space")
    page.wait_for_function("sheetlorePage.state.chosen.length === 0")


def test_every_property_can_be_chosen_in_its_directions(page, published):
    offered = set(page.eval_on_selector_all("#y option", "options => options.map(option => option.value)"))
    assert offered == {row["property"] for row in published.of("trial_value", trial=LADDER)}
    page.select_option("#y", "thickness")
    wait_for_title(page, "points", "Thickness")
    wait_for_drawings(page)
    assert not page.locator("#d").is_visible()
    assert not page.locator("[data-figure=strips]").is_visible(), "no test piece has a thickness"
    assert not page.locator("[data-figure=response]").is_visible()
    assert len(rows_of(page, "against", "sheets")) == 20
    page.select_option("#y", "stretch")
    page.select_option("#d", "GM")
    wait_for_title(page, "points", "Stretch")
    wait_for_drawings(page)
    assert {row["direction"] for row in rows_of(page, "points", "means")} == {"GM"}
    assert "Stretch geometric mean of MD and CD, %" in page.locator("[data-figure=points] svg").text_content()
    assert page.locator("[data-figure=response]").is_visible()


def test_every_condition_that_differs_can_be_the_x_axis(opened, drawn):
    page = drawn(opened(PAGE))
    axes = set(page.eval_on_selector_all("#x option", "options => options.map(option => option.value)"))
    assert {
        "jet_to_wire_ratio",
        "wire_speed_m_min",
        "jet_speed_m_min",
        "grammage|",
        "apparent_density|",
        "stretch|MD",
        "tensile_index|MD/CD",
    } <= axes
    assert "consistency_pct" not in axes, "the same for all sheets"
    page.select_option("#x", "jet_speed_m_min")
    wait_for_title(page, "against", "Tensile index against jet speed")
    assert {row["x"] > 900 for row in rows_of(page, "against", "sheets")} == {True}
    page = drawn(opened(links.trial_page(REFINED)))
    page.select_option("#x", "refining_energy_kwh_t")
    wait_for_title(page, "against", "Tensile index against refining energy")
    assert "kW·h/t" in page.locator("[data-figure=against] svg").text_content()
    page.select_option("#x", "furnishes")
    wait_for_title(page, "against", "Tensile index against furnishes")
    wait_for_drawings(page)
    assert {row["x"] for row in rows_of(page, "against", "sheets")} == {
        row["furnishes"] for row in page.evaluate("sheetlorePage.data.sheets")
    }


def test_a_property_in_a_direction_can_be_the_x_axis(page):
    page.select_option("#y", "tensile_index")
    page.select_option("#x", "stretch|CD")
    wait_for_title(page, "against", "Tensile index against stretch CD, 20 sheets: ")
    wait_for_drawings(page)
    sheets = page.evaluate(
        "Object.fromEntries(sheetlorePage.data.sheets.map(row => [row.sheet_id, row['stretch|CD|']]))"
    )
    rows = rows_of(page, "against", "sheets")
    assert {row["direction"] for row in rows} == {"MD", "CD"}
    assert {row["sheet_id"]: row["x"] for row in rows} == sheets
    assert "Stretch CD, %" in page.locator("[data-figure=against] svg").text_content()


def test_what_is_chosen_stands_in_one_line_of_a_wide_window(page):
    tops = {page.locator(f"#{name}").bounding_box()["y"] for name in ("y", "d", "x")}
    assert len(tops) == 1


def test_the_address_leads_to_the_same_view(opened, drawn, page):
    page.select_option("#y", "tea")
    page.select_option("#d", "CD")
    page.select_option("#x", "stretch|CD")
    untick(page, "ratio 1.00")
    page.locator("#trial-sheets tr[data-key=JW-002] input").check()
    page.wait_for_function("location.hash.includes('JW-002')")
    again = drawn(opened(PAGE, fragment=page.evaluate("location.hash")))
    for figure in ("points", "response", "against", "strips"):
        assert title(again, figure) == title(page, figure)
    assert again.inner_text("#shown") == page.inner_text("#shown")
    assert again.evaluate("['y', 'd', 'x'].map(id => document.getElementById(id).value)") == [
        "tea",
        "CD",
        "stretch|CD",
    ]
    assert again.locator("#trial-sheets tbody tr:visible").count() == 15


def test_unknown_names_in_the_address_are_ignored(opened, drawn):
    fragment = "#y=nothing&d=XX&x=constructor&only=nowhere&sheet=%3Cb%3E"
    page = drawn(opened(PAGE, fragment=fragment))
    assert page.inner_text("#shown") == "All 4 trial points shown."
    assert title(page, "points").startswith("Tensile index is highest")


def test_a_mark_leads_to_its_sheet(page):
    mark = page.locator("[data-figure=response] svg .mark-symbol path").first
    mark.scroll_into_view_if_needed()
    mark.click(force=True)
    page.wait_for_url("**/sheet/jw-*.html")
    assert page.locator("h1").inner_text().startswith("Sheet JW-")


def test_a_filter_takes_a_trial_point_out_of_charts_and_tables(page):
    pieces = len(rows_of(page, "strips", "pieces"))
    untick(page, "ratio 1.35")
    assert len(rows_of(page, "strips", "pieces")) < pieces
    assert page.locator("#trial-sheets tbody tr:visible").count() == 15
    assert page.locator("[data-of-points] tbody tr:visible", has_text="ratio 1.35").count() == 0
    assert "ratio 1.35" not in page.locator("[data-figure=points] svg").text_content()
    page.get_by_label("ratio 1.35", exact=True).check()
    wait_for_drawings(page)
    assert len(rows_of(page, "strips", "pieces")) == pieces
    assert page.locator("#trial-sheets tbody tr:visible").count() == 20


def test_the_data_of_a_chart_are_the_rows_that_are_drawn(page):
    page.click("[data-figure=against] summary")
    rows = "document.querySelectorAll('[data-figure=against] [data-behind] tbody tr').length"
    page.wait_for_function(f"{rows} === 40")
    untick(page, "ratio 0.85")
    page.wait_for_function(f"{rows} === 30")
    heads = page.locator("[data-figure=against] [data-behind] thead th")
    assert "Tensile index, N·m/g" in " ".join(heads.all_inner_texts())


def test_numbers_of_a_column_have_the_same_decimals(page):
    page.click("[data-figure=points] summary")
    page.wait_for_function(
        "document.querySelectorAll('[data-figure=points] [data-behind] tbody tr').length === 8"
    )
    tables = page.evaluate("""() =>
        [...document.querySelectorAll("#trial-sheets, [data-behind] table, [data-of-points] table")]
        .map((table) => [...table.tHead.rows[0].cells].map((_, place) =>
            [...table.tBodies[0].rows].map((row) => row.cells[place])
                .filter((cell) => cell.classList.contains("number")).map((cell) => cell.textContent)))""")
    columns = [column for table in tables for column in table if column]
    assert len(columns) > 15
    for column in columns:
        decimals = {len(text.partition(".")[2]) for text in column if text != "–"}
        assert len(decimals) <= 1, column


def test_a_table_is_sorted_by_its_headings(page):
    head = page.locator("#trial-sheets thead th", has_text="Grammage")
    column = "rows => rows.map(row => parseFloat(row.cells[5].textContent))"
    head.get_by_role("button").click()
    rising = page.eval_on_selector_all("#trial-sheets tbody tr", column)
    assert head.get_attribute("aria-sort") == "ascending"
    assert rising == sorted(rising)
    head.get_by_role("button").click()
    assert page.eval_on_selector_all("#trial-sheets tbody tr", column) == rising[::-1]


def test_pieces_not_in_the_means_are_hollow_and_counted(page):
    hollow = page.locator("[data-figure=strips] svg .mark-symbol path[fill='transparent']")
    drawn = rows_of(page, "strips", "pieces")
    left_out = [row for row in drawn if not row["in_means"]]
    assert hollow.count() == len(left_out) > 0
    assert title(page, "strips").startswith(
        f"{len(drawn)} test pieces of 20 sheets: {len(drawn) - len(left_out)} count in the means, "
        f"{len(left_out)} hollow"
    )


def test_pieces_without_a_value_are_counted_as_not_drawn(opened, drawn, demo_site, published, tmp_path):
    rows, trial = rows_of_trial(published, LADDER)
    first, *others = rows["trial_piece"]
    rows["trial_piece"] = [first | {"tensile_index_nm_g": None}, *others]
    path = site_of(demo_site, tmp_path, rows, trial)
    page = drawn(opened(path.relative_to(tmp_path), site=tmp_path))
    assert title(page, "strips").startswith(f"{len(others)} test pieces of 20 sheets: ")
    assert title(page, "strips").endswith("; 1 without tensile index not drawn")
    assert page.locator("[data-figure=strips] svg .mark-symbol.role-mark path").count() == len(others)


def test_layers_are_drawn_in_their_order_without_the_colours_of_directions(opened, drawn):
    page = drawn(opened(links.trial_page(LAYERED)))
    bars = page.locator("[data-figure=layers] svg .mark-rect path")
    assert bars.count() == 6
    fills = bars.evaluate_all("bars => [...new Set(bars.map(bar => bar.getAttribute('fill')))]")
    assert all(fill.startswith("var(--tone-") for fill in fills)


def test_a_print_has_two_pages_and_names_what_is_shown(page):
    assert pages_of(page.pdf(format="A4")) == 2
    untick(page, "ratio 1.35")
    page.emulate_media(media="print")
    assert page.locator("#shown").is_visible()
    assert page.inner_text("#shown") == "3 of 4 trial points shown, without ratio 1.35."
    displays = "some => some.map(one => getComputedStyle(one).display)"
    hints = page.locator(".hint", has_text=re.compile("Draw a rectangle|Click a mark|Tick sheets"))
    assert hints.count() >= 3
    assert not any(hint.is_visible() for hint in hints.all())
    assert page.locator("[data-figure=against] .note").is_visible()
    assert "Draw a rectangle" not in page.inner_text("main")
    assert set(page.eval_on_selector_all("thead", displays)) == {"table-header-group"}, (
        "repeated on every page"
    )
    assert set(page.eval_on_selector_all("th button", displays)) == {"contents"}, (
        "a button's box hinders that"
    )


def pages_of(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


LONG = "a trial point with a name of eighty characters, as a laboratory may well write i"


def many_points(published, count, sheets):
    """Return the rows of a trial with many trial points and sheets, copied from the demo laboratory."""
    rows, trial = rows_of_trial(published, LADDER)

    def again(name, key, template, times):
        found = [row for row in rows[name] if row[key] == template]
        return [renumbered(row, place) for place in range(times) for row in found]

    def renumbered(row, place):
        other = row | {"trial_point": f"point {place % count:03}"}
        if "sheet_id" in row:
            other["sheet_id"] = f"S{place:05}"
        if "place" in row:
            other["place"] = place
        if "value" in row:
            other["value"] = row["value"] * (1 + place / 5000)
        if "jet_to_wire_ratio" in row:
            other["jet_to_wire_ratio"] = 0.8 + place / 2000
        return other

    total = count * sheets
    made = {
        name: again(name, "sheet_id", "JW-001", total)
        for name in ("trial_value", "trial_sheet", "trial_piece")
    }
    made |= {
        name: again(name, "trial_point", "ratio 1.00", count)
        for name in ("trial_mean", "trial_condition", "trial_layer")
    }
    return rows | made, trial | {"n_points": count, "n_sheets": total, "n_tested": total}


def test_three_hundred_trial_points_stay_usable(opened, drawn, demo_site, published, tmp_path):
    rows, trial = many_points(published, 300, 3)
    path = site_of(demo_site, tmp_path, rows, trial)
    assert path.stat().st_size < 2_000_000
    page = drawn(opened(path.relative_to(tmp_path), site=tmp_path))
    height = page.evaluate("document.documentElement.scrollHeight")
    assert height < 6000, "tables are folded, charts draw a part"
    assert len({row["trial_point"] for row in rows_of(page, "points", "means")}) == 30
    note = page.locator("[data-figure=points] .note").inner_text()
    assert note.startswith("Drawn are the 30 trial points with the highest value in MD. ")
    pieces = len(rows_of(page, "strips", "pieces"))
    assert re.match(
        rf"{pieces} of [\d\u202f]+ test pieces, those of the last 80 of 900 sheets: ".replace(
            str(pieces), r"[\d\u202f]+"
        ),
        title(page, "strips"),
    )
    assert page.locator("[data-figure=strips] svg .mark-symbol.role-mark path").count() == pieces
    page.fill("input[type=search]", "point 29")
    assert page.inner_text("#ticks-count") == "13 of 300"
    page.click("#only-found")
    wait_for_drawings(page)
    assert title(page, "points").startswith("Of 13 of 300 trial points, tensile index")
    assert page.inner_text("#shown").startswith("13 of 300 trial points shown, only point 029, point 129, ")
    assert len({row["trial_point"] for row in rows_of(page, "points", "means")}) == 13
    assert "only=point+029" in page.evaluate("location.hash")


def test_long_names_fit_a_narrow_window(opened, drawn, demo_site, published, tmp_path):
    assert len(LONG) == 80
    rows, trial = rows_of_trial(published, LAYERED)
    names = ("trial_point", "sheet_id", "furnishes", "furnish")
    for name in [name for name in rows if name.startswith("trial_")]:
        rows[name] = [
            row
            | {"trial": LONG}
            | {key: f"{LONG[: 79 - len(str(row[key]))]} {row[key]}" for key in names if row.get(key)}
            for row in rows[name]
        ]
    rows["trial_sheet"] = [row | {"furnishes": row["trial_point"]} for row in rows["trial_sheet"]]
    path = site_of(demo_site, tmp_path, rows, trial | {"trial": LONG})
    page = drawn(opened(path.relative_to(tmp_path), site=tmp_path, width=420))
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
    wide = """() => [...document.querySelectorAll("main *")].filter((one) => !one.closest(".scroll, svg"))
        .filter((one) => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
        .map((one) => one.outerHTML.slice(0, 120))"""
    assert page.evaluate(wide) == []
    for figure in ("points", "strips", "layers"):
        check_names(page, figure)
    page.select_option("#x", "furnishes")
    wait_for_drawings(page)
    check_names(page, "against")


LABELS = """svg => [...svg.querySelectorAll(".role-axis-label text, .role-legend-label text")].map((label) => {
    const { left, right, top, bottom } = label.getBoundingClientRect();
    return { text: [...label.childNodes].map((part) => part.textContent).join(" "), left, right, top, bottom };
})"""


MIDDLES = """svg => {
    const ticks = [...svg.querySelectorAll(".role-axis-tick line")].map((line) => line.getBoundingClientRect().top);
    const labels = [...svg.querySelectorAll(".role-axis-label text")].filter((one) => one.childElementCount > 1);
    return labels.map((one) => one.getBoundingClientRect()).map(({ top, bottom }) => (top + bottom) / 2)
        .map((middle) => Math.min(...ticks.map((tick) => Math.abs(tick - middle))));
}"""
"""How far the middle of each name is from the nearest tick."""


def check_names(page, figure):
    """Check that the names on a chart's axis and in its legend are whole, inside the chart, and apart."""
    svg = page.locator(f"[data-figure={figure}] svg")
    labels = svg.evaluate(LABELS)
    assert not [one["text"] for one in labels if "…" in one["text"]]
    names = [one for one in labels if LONG[:20] in one["text"]]
    assert names, figure
    box = svg.bounding_box()
    for one in names:
        assert one["left"] >= box["x"] - 1, one
        assert one["right"] <= box["x"] + box["width"] + 1, one
    middles = svg.evaluate(MIDDLES)
    assert len(middles) > 1
    assert max(map(abs, middles)) < 4, "each name is beside its line of the chart"
    for one, below in itertools.pairwise(sorted(names, key=lambda one: one["top"])):
        assert one["bottom"] <= below["top"] + 1, (one, below)
