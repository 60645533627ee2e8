"""The page of tables and columns in a browser: search, addresses of columns, and the page without JavaScript."""

import pytest

from pipelines.dictionary.declared import published_tables

pytestmark = pytest.mark.slow


def shown(page, selector):
    return page.locator(f"{selector}:visible")


@pytest.fixture
def tables(opened):
    return opened("dictionary.html")


def test_the_search_shows_columns_that_contain_all_words(tables):
    everything = shown(tables, "[data-entry]").count()
    tables.get_by_label("Find columns").fill("  STIFFNESS index records.tensile ")
    assert shown(tables, "[data-entry]").count() == 0
    assert shown(tables, "h2").all_inner_texts() == ["Changes"]
    tables.get_by_label("Find columns").fill("stiffness INDEX main")
    assert tables.locator("#tables-count").inner_text() == f"0 of {everything}"
    tables.get_by_label("Find columns").fill("grammage_oven_dry sheet iso 536")
    names = shown(tables, "[data-entry]").evaluate_all("rows => rows.map((row) => row.dataset.entry)")
    assert "sheet.grammage_oven_dry_g_m2" in names
    assert "sheet.thickness_um" not in names
    assert tables.locator("#tables-count").inner_text() == f"{len(names)} of {everything}"
    assert "Records" not in shown(tables, "h2").all_inner_texts()
    tables.get_by_label("Find columns").fill("")
    assert shown(tables, "[data-entry]").count() == everything
    assert tables.locator("#tables-count").inner_text() == ""


def test_a_link_to_a_hidden_column_shows_it_again(tables):
    tables.get_by_label("Find columns").fill("wet bulb")
    tables.evaluate("location.hash = '#sheet.grammage_g_m2'")
    tables.wait_for_function("document.getElementById('sought').value === ''")
    assert shown(tables, "[id='sheet.grammage_g_m2']").count() == 1


def test_an_address_of_a_column_leads_to_it(opened):
    page = opened("dictionary.html", fragment="#trial_point.tensile_index_md_nm_g")
    top = page.locator("[id='trial_point.tensile_index_md_nm_g']").bounding_box()["y"]
    bar = page.locator("#filter").bounding_box()
    assert bar["y"] + bar["height"] <= top < 300, "in sight, and not below the bar that stays"


def test_the_list_of_tables_leads_to_each(tables):
    for table in published_tables():
        tables.locator("#contents").get_by_role("link", name=table.full_name, exact=True).click()
        assert tables.evaluate("location.hash") == f"#{table.full_name}"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_column_that_an_address_leads_to_is_accessible_in_a_narrow_window(opened, axe, scheme):
    """test_every_page checks the whole page in a wide window; this test its head and the column's table."""
    page = opened("dictionary.html", width=420, scheme=scheme, fragment="#sheet.grammage_g_m2")
    page.evaluate(
        """() => {
            const list = document.querySelector(":target").closest("dl");
            document.querySelectorAll("dl, table").forEach((other) => other === list || other.remove());
            document.querySelectorAll("#contents a:nth-of-type(n + 4)").forEach((other) => other.remove());
        }"""
    )
    assert page.locator(":target").count() == 1
    assert axe(page) == []


@pytest.mark.parametrize("width", [420, 1200])
def test_the_page_is_as_wide_as_its_window(opened, width):
    page = opened("dictionary.html", width=width, fragment="#sheet.grammage_g_m2")
    assert page.evaluate("document.documentElement.scrollWidth") == width


def test_without_javascript_only_the_search_field_is_missing(browser, demo_site):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((demo_site / "dictionary.html").as_uri())
    assert shown(page, "[data-entry]").count() == page.locator("[data-entry]").count() > 500
    assert shown(page, "#filter").count() == 0
    context.close()
