"""The page of testers in a browser: choices, hollow marks, limits, and gaps in a room's log."""

import pytest

from pipelines.site import links

pytestmark = pytest.mark.slow


@pytest.fixture
def page(opened, drawn):
    return drawn(opened(links.TESTERS))


def title(page, figure):
    return page.locator(f"[data-figure={figure}] .finding").inner_text()


def choose(page, label, value):
    page.locator("label", has_text=label).locator("select").select_option(label=value)


def test_each_choice_changes_its_own_figures(page):
    warm = "In room 1 the temperature was outside 23 ± 1 °C for 23.4 % of the logged time, last at 2026-11-02 07:45"
    assert title(page, "temperature") == warm
    assert title(page, "readings").startswith("Tensile strength MD:")
    choose(page, "Quantity", "Thickness, 100 kPa")
    page.wait_for_function("document.querySelector('#readings .finding').textContent.startsWith('Thickness')")
    assert title(page, "temperature") == warm
    choose(page, "Room", "room 2")
    page.wait_for_function("document.querySelector('#humidity .finding').textContent.includes('room 2')")
    assert title(page, "temperature") == "In room 2 the temperature was not outside 23 ± 1 °C in any reading"
    assert title(page, "readings").startswith("Thickness, 100 kPa:")
    page.wait_for_function(
        "document.querySelector('#readings svg').textContent.includes('Thickness, 100 kPa, µm')"
    )


def test_axes_have_their_units(page):
    assert "Tensile strength MD, kN/m" in page.locator("#readings svg").text_content()
    assert "Temperature, °C" in page.locator("#temperature svg").text_content()
    assert "Relative humidity, %" in page.locator("#humidity svg").text_content()


def test_readings_not_in_the_means_are_hollow(page):
    choose(page, "Quantity", "Grammage, conditioned")
    page.wait_for_function("document.querySelector('#readings .finding').textContent.startsWith('Grammage')")
    readings = page.evaluate("sheetlorePage.data.readings.filter(row => row.key === 'grammage: conditioned')")
    fills = page.eval_on_selector_all(
        "#readings .mark-symbol.role-mark path",
        "marks => marks.map(mark => getComputedStyle(mark).fill)",
    )
    hollow = sum(fill in ("none", "rgba(0, 0, 0, 0)") for fill in fills)
    assert len(fills) == len(readings)
    assert hollow == sum(not row["counts"] for row in readings)


def test_the_limits_are_drawn_and_a_gap_is_left_open(page):
    assert page.locator("#temperature .mark-rect.role-mark path").count() == 1
    assert page.locator("#temperature .mark-rule.role-mark line").count() == 2
    assert page.locator("#temperature .mark-line.role-mark path").count() == 3, "two gaps make three lines"
    assert "2 gaps of more than 30 min, 8.25 h in total" in page.locator("#temperature .note").inner_text()


def test_times_are_local_to_the_laboratory_in_any_readers_zone(browser, demo_site):
    labels = []
    for zone in ("Pacific/Auckland", "America/Los_Angeles"):
        context = browser.new_context(timezone_id=zone, viewport={"width": 1200, "height": 900})
        page = context.new_page()
        page.goto((demo_site / links.TESTERS).as_uri())
        page.evaluate("sheetlorePage.draw('temperature')")
        labels.append(page.locator("#temperature .role-axis-label text").all_text_contents())
        context.close()
    assert labels[0] == labels[1]
    assert "23 Oct" in labels[0]


def test_the_chart_of_holds_has_its_data_table(page):
    page.locator("#held summary").click()
    assert page.locator("#held tbody tr").count() == 9
    assert page.locator("#held .mark-rect.role-mark path").count() == 9


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_inaccessible_or_wider_than_the_screen(opened, drawn, axe, scheme):
    page = drawn(opened(links.TESTERS, width=420, scheme=scheme))
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") == 0
