"""The table of all sheets in a browser: search, filters, order, parts, columns, address, download; also of 50,000."""

import csv
import io
import re
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import quote
from zoneinfo import ZoneInfo

import pytest

from pipelines.site import links
from pipelines.site.reading import Published
from pipelines.site.sheets import page as sheets_page
from schemas.marts import marts

pytestmark = pytest.mark.slow

MANY = 50_000
DANGEROUS = ("=1+1", "+1", "-1", "@sum", "\t=1", "＝1")

ANSWER = """(words) => {
    const box = document.getElementById("words");
    const took = [];
    for (let length = 1; length <= words.length; length++) {
        box.value = words.slice(0, length);
        const begun = performance.now();
        box.dispatchEvent(new Event("input"));
        document.body.offsetHeight; // laid out
        took.push(performance.now() - begun);
    }
    return took;
}"""

SORT = """(sort) => {
    const begun = performance.now();
    sheetloreRows.rowsOf({ words: "", trial: "", from: "", to: "", ranges: [], sort, descending: false });
    return performance.now() - begun;
}"""


def sheet(number: int, **values: object) -> dict[str, object]:
    missing = dict.fromkeys(marts()["sheet"].to_schema().columns)
    given = {
        "sheet_id": f"S-{number}",
        "trial": f"T{number % 40}",
        "trial_point": f"P{number % 7}",
        "formed_at_utc": datetime(2026, 1, 1, 6, 0, tzinfo=UTC) + timedelta(minutes=number),
        "furnishes": ("birch, refined", "Épicéa écru", None)[number % 3],
        "grammage_g_m2": 60 + number % 100 / 10,
        "n_pieces": number % 5,
        "n_left_out": 0,
        "remarks": None if number % 5 else "no tensile tests",
    }
    return missing | given | values


@pytest.fixture(scope="module")
def site_of(demo_site, tmp_path_factory):
    """Write a site with only the page of all sheets, from the given rows."""

    def make(rows):
        root = tmp_path_factory.mktemp("sheets")
        shutil.copytree(demo_site / "assets", root / "assets")
        published = Published(
            {
                "all_sheet": rows,
                "typical_uncertainty": [],
                "setting": [{"laboratory": "Invented laboratory", "time_zone": "UTC"}],
            }
        )
        (root / links.SHEETS).write_text(sheets_page.page(published), encoding="utf-8")
        (root / sheets_page.DATA).write_text(sheets_page.data(published), encoding="utf-8")
        return root

    return make


@pytest.fixture(scope="module")
def small_site(site_of):
    return site_of([sheet(number) for number in range(250, 0, -1)])


@pytest.fixture
def table(opened, small_site):
    return lambda fragment="": opened(links.SHEETS, site=small_site, fragment=fragment)


def count_text(page):
    return page.locator("#count").inner_text()


def column(page, heading):
    place = page.locator("#sheets thead th").all_inner_texts().index(heading)
    return page.locator(f"#sheets tbody tr > :nth-child({place + 1})").all_inner_texts()


def downloaded(page):
    with page.expect_download() as caught:
        page.get_by_role("button", name="Download as CSV").click()
    return caught.value


def test_the_newest_hundred_come_first(table):
    page = table()
    assert count_text(page) == "Rows 1–100 of 250 sheets"
    assert column(page, "Sheet") == [f"S-{number}" for number in range(250, 150, -1)]
    assert page.locator("th[aria-sort]").all_inner_texts() == ["Formed at"]


def test_every_word_must_occur_whatever_its_accents_and_capitals(table):
    page = table()
    page.get_by_label("Words").fill("  EPICEA  t3 ")
    found = column(page, "Furnishes")
    assert found
    assert set(found) == {"Épicéa écru"}
    assert all("T3" in trial for trial in column(page, "Trial"))
    page.get_by_label("Words").fill("epicea birch")
    assert count_text(page) == "No sheet matches, of 250"


def test_filters_by_trial_days_and_ranges_work_together(table):
    page = table()
    page.get_by_role("combobox", name="Trial", exact=True).select_option("T7")
    assert set(column(page, "Trial")) == {"T7"}
    page.get_by_role("button", name="Add a range").click()
    page.get_by_role("combobox", name="Range of").select_option("n_pieces")
    page.get_by_role("group", name="Range of a column").get_by_label("from").fill("2")
    assert set(column(page, "Valid test pieces")) == {"2"}
    page.get_by_label("Formed from").fill("2026-01-02")
    assert count_text(page) == "No sheet matches, of 250"
    page.get_by_role("button", name="Show all sheets").click()
    assert count_text(page) == "Rows 1–100 of 250 sheets"
    assert page.get_by_role("combobox", name="Range of").count() == 0


def test_a_date_filter_includes_the_whole_day(table):
    page = table("#from=2026-01-01&to=2026-01-01")
    assert count_text(page) == "Rows 1–100 of 250 sheets"
    assert count_text(table("#to=2025-12-31")) == "No sheet matches, of 250"


def test_times_and_days_are_local_and_the_download_has_utc(opened, site_of):
    formed = datetime(2026, 1, 1, 0, 30, tzinfo=ZoneInfo("Europe/Helsinki"))
    site = site_of([sheet(1, formed_at_utc=formed)])
    page = opened(links.SHEETS, site=site, fragment="#from=2026-01-01&columns=sheet_id,formed_at_utc")
    assert column(page, "Formed at") == ["2026-01-01 00:30"]
    assert "2025-12-31T22:30:00Z" in Path(downloaded(page).path()).read_text(encoding="utf-8")
    assert count_text(opened(links.SHEETS, site=site, fragment="#to=2025-12-31")) == "No sheet matches, of 1"


def test_numbers_sort_by_value_names_in_natural_order_and_missing_values_last(opened, site_of):
    rows = [
        sheet(number, grammage_g_m2=value) for number, value in ((1, 100.0), (2, None), (10, 9.5), (3, 100.0))
    ]
    page = opened(links.SHEETS, site=site_of(rows))
    page.get_by_role("button", name="Grammage").click()
    assert column(page, "Sheet") == ["S-10", "S-1", "S-3", "S-2"]
    page.get_by_role("button", name="Grammage").click()
    assert column(page, "Sheet") == ["S-1", "S-3", "S-10", "S-2"], "equal ones stay in their order"
    assert column(page, "Grammage, g/m²") == ["100.0", "100.0", "9.5", "–"]
    page.locator("th button", has_text=re.compile("^Sheet$")).click()
    assert column(page, "Sheet") == ["S-1", "S-2", "S-3", "S-10"]


def test_the_table_is_turned_by_keyboard_and_keeps_the_focus(table):
    page = table()
    page.get_by_role("button", name="Last").focus()
    page.keyboard.press("Enter")
    assert count_text(page) == "Rows 201–250 of 250 sheets"
    assert page.evaluate("document.activeElement.textContent") == "Last"
    page.get_by_role("button", name="Previous").click()
    assert count_text(page) == "Rows 101–200 of 250 sheets"
    page.get_by_role("button", name="First").click()
    page.get_by_role("button", name="Previous").click(force=True)
    assert count_text(page) == "Rows 1–100 of 250 sheets"


def test_columns_are_chosen(table):
    page = table()
    page.get_by_text("Columns shown", exact=True).first.click()
    page.get_by_role("checkbox", name="Thickness, µm").check()
    page.get_by_role("checkbox", name="Grammage, g/m²", exact=True).uncheck()
    heads = page.locator("#sheets thead th").all_inner_texts()
    assert "Thickness, µm" in heads
    assert "Grammage, g/m²" not in heads


def test_numbers_of_a_column_have_the_same_decimals(opened):
    page = opened(links.SHEETS)
    for box in page.locator("#columns input").all():
        box.dispatch_event("click")
    shown = page.evaluate("""() => [...document.querySelectorAll("#sheets thead th.number")].map((head) =>
        [...document.querySelectorAll("#sheets tbody tr")].map((row) => row.cells[head.cellIndex].textContent))""")
    assert len(shown) > 10
    for texts in shown:
        assert len({len(text.partition(".")[2]) for text in texts if text != "–"}) <= 1, texts


def test_a_view_is_shared_by_its_address(table):
    page = table()
    page.get_by_label("Words").fill("écru")
    page.get_by_role("combobox", name="Trial", exact=True).select_option("T4")
    page.locator("th button", has_text=re.compile("^Sheet$")).click()
    page.wait_for_function("location.hash.includes('sort=sheet_id')")
    shared = table("#" + page.url.partition("#")[2])
    assert shared.get_by_label("Words").input_value() == "écru"
    assert column(shared, "Sheet") == column(page, "Sheet")
    assert count_text(shared) == count_text(page)


def test_an_invalid_address_shows_all_sheets(table):
    ranges = "range=sheet_id:1:2&range=x&range=grammage_g_m2:a:b"
    assert (
        count_text(table(f"#sort=nothing&columns=a,__proto__&part=-7&from=yesterday&{ranges}"))
        == "Rows 1–100 of 250 sheets"
    )
    assert count_text(table("#part=999")) == "Rows 201–250 of 250 sheets"


def test_the_download_has_the_filtered_rows(table, tmp_path):
    page = table("#trial=T7&sort=sheet_id&columns=sheet_id,formed_at_utc,furnishes,grammage_g_m2")
    download = downloaded(page)
    assert download.suggested_filename == "sheets.csv"
    download.save_as(tmp_path / "sheets.csv")
    content = (tmp_path / "sheets.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbf")
    assert content.count(b"\r\n") == content.count(b"\n")
    rows = list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    assert [row["sheet_id"] for row in rows] == column(page, "Sheet")
    assert rows[0] == {
        "sheet_id": "S-7",
        "formed_at_utc": "2026-01-01T06:07:00Z",
        "grammage_g_m2": "60.7",
        "furnishes": "Épicéa écru",
    }


def test_formulas_in_the_download_are_escaped_and_the_page_says_so(opened, site_of, tmp_path):
    texts = [*DANGEROUS, 'say "a", b\nc', "plain - text"]
    rows = [sheet(number, furnishes=text, grammage_g_m2=-1.5) for number, text in enumerate(texts)]
    page = opened(links.SHEETS, site=site_of(rows), fragment="#sort=formed_at_utc")
    download = downloaded(page)
    download.save_as(tmp_path / "sheets.csv")
    read = list(csv.DictReader((tmp_path / "sheets.csv").open(encoding="utf-8-sig", newline="")))
    assert [row["furnishes"] for row in read] == [f"'{text}" for text in DANGEROUS] + texts[-2:]
    assert {row["grammage_g_m2"] for row in read} == {"-1.5"}, "a number is none"
    assert "apostrophe" in page.locator("#download-note").inner_text()


@pytest.mark.parametrize(
    "text", ["<img src=x onerror=alert(1)>", "</script><b>", "javascript:alert(1)", "__proto__"]
)
def test_hostile_texts_stay_texts(opened, site_of, text):
    root = site_of([sheet(1, sheet_id=text, trial=text, furnishes=text, remarks=text)])
    page = opened(links.SHEETS, site=root, fragment=f"#words={quote(text)}&trial={quote(text)}")
    assert column(page, "Sheet") == [text]
    assert column(page, "Remarks") == [text]
    assert page.locator("main img, main b").count() == 0
    assert page.locator("tbody a").first.get_attribute("href").startswith("sheet/")


def test_invisible_characters_are_shown_as_dots_and_downloaded_unchanged(opened, site_of, tmp_path):
    text = "S-\u202egnp\u200b"
    page = opened(links.SHEETS, site=site_of([sheet(1, sheet_id=text, trial=text)]))
    assert column(page, "Sheet") == column(page, "Trial") == ["S-·gnp·"]
    assert page.locator("#trial option").last.inner_text() == "S-·gnp·"
    downloaded(page).save_as(tmp_path / "sheets.csv")
    assert text in (tmp_path / "sheets.csv").read_text(encoding="utf-8-sig")


def test_without_sheets_the_page_says_so(opened, site_of):
    page = opened(links.SHEETS, site=site_of([]))
    assert count_text(page) == "No sheets"
    assert "No sheet yet: no forming log is imported." in page.locator("main").inner_text()


def test_fifty_thousand_sheets(opened, site_of, capsys):
    """The page answers every key. The time is printed; a limit would depend on the machine."""
    root = site_of([sheet(number, tensile_index_md_nm_g=number % 977 / 7) for number in range(MANY)])
    page = opened(links.SHEETS, site=root)
    assert count_text(page) == "Rows 1–100 of 50\u202f000 sheets"
    ready = page.evaluate("performance.now()")
    page.get_by_label("Words").focus()
    keys = page.evaluate(ANSWER, "birch t39 p3")
    assert set(column(page, "Trial")) == {"T39"}
    by_name, by_number = page.evaluate(SORT, "sheet_id"), page.evaluate(SORT, "tensile_index_md_nm_g")
    with capsys.disabled():
        print(
            f"\n50,000 sheets: shown after {ready:.0f} ms; a key takes {max(keys):.0f} ms at most, "
            f"{sorted(keys)[len(keys) // 2]:.0f} ms in the middle; sorting the first time {by_name:.0f} ms by name, "
            f"{by_number:.0f} ms by number; {(root / sheets_page.DATA).stat().st_size / 1e6:.1f} MB"
        )
