"""The page of all sheets: its sentence, and the script with its rows."""

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from pipelines.site.reading import Published
from pipelines.site.sheets import findings, page
from schemas.marts import marts

MORNING = datetime(2026, 10, 1, 6, 0, tzinfo=UTC)
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{1237*1013}}",
    "javascript:alert(1)",
    "</script><b>",
    "\u202egnirts",
    "x" * 300,
)


def sheet(sheet_id: str, **values: object) -> dict[str, object]:
    """Return a row of the statement all_sheet; values not given are missing."""
    missing = dict.fromkeys(marts()["sheet"].to_schema().columns)
    given = {"trial": "T1", "trial_point": "P1", "n_pieces": 4, "n_left_out": 0, "remarks": None}
    return missing | given | {"sheet_id": sheet_id} | values


def published(
    *rows: dict[str, object],
    laboratory: str = "Invented laboratory",
    uncertainties: Iterable[dict[str, object]] = (),
) -> Published:
    setting = {"laboratory": laboratory, "time_zone": "UTC"}
    return Published(
        {"all_sheet": list(rows), "typical_uncertainty": list(uncertainties), "setting": [setting]}
    )


def typical(name: str, direction: str | None, standard_uncertainty: float, of_table: str = "sheet"):
    """Return a row of the statement typical_uncertainty."""
    return {
        "of_table": of_table,
        "property": name,
        "direction": direction,
        "standard_uncertainty": standard_uncertainty,
    }


def table(*rows: dict[str, object], uncertainties: Iterable[dict[str, object]] = ()) -> dict[str, dict]:
    """Return the columns of the script, by name."""
    script = page.data(published(*rows, uncertainties=uncertainties))
    head, foot = '"use strict";\nwindow.sheetloreSheets = ', ";\n"
    assert script.startswith(head)
    assert script.endswith(foot)
    handed = json.loads(script.removeprefix(head).removesuffix(foot))
    assert handed["count"] == len(rows)
    return {column["name"]: column for column in handed["columns"]}


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ([], "No sheet yet: no forming log is imported."),
        (
            [sheet("S-1", formed_at_utc=MORNING)],
            "1 sheet of 1 trial, formed on 2026-10-01 06:00; each has valid tensile tests.",
        ),
        ([sheet("S-1", n_pieces=0)], "1 sheet of 1 trial; 1 has no valid tensile tests."),
        (
            [
                sheet("S-1", formed_at_utc=MORNING),
                sheet("S-2", trial="T2", n_pieces=0),
                sheet("S-3", formed_at_utc=datetime(2026, 10, 3, 7, 30, tzinfo=UTC), n_pieces=0),
            ],
            "3 sheets of 2 trials, formed from 2026-10-01 06:00 to 2026-10-03 07:30; "
            "2 have no valid tensile tests.",
        ),
    ],
)
def test_the_page_counts_trials_and_sheets(rows, text):
    assert findings.of_sheets(rows) == text
    assert text in page.page(published(*rows))


def test_thousands_of_sheets_are_counted_with_a_narrow_space():
    text = findings.of_sheets([sheet(f"S-{number}") for number in range(12_000)])
    assert text == "12\u202f000 sheets of 1 trial; each has valid tensile tests."


def test_each_text_is_stored_once():
    columns = table(sheet("S-1", furnishes="birch"), sheet("S-2"), sheet("S-3", furnishes="birch"))
    assert columns["furnishes"]["texts"] == ["birch"]
    assert columns["furnishes"]["places"] == [0, None, 0]
    assert columns["sheet_id"]["texts"] == ["S-1", "S-2", "S-3"]


def test_numbers_and_times_are_numbers():
    columns = table(
        sheet("S-1", grammage_g_m2=60.123456789, formed_at_utc=MORNING, n_layers=2),
        sheet("S-2", grammage_g_m2=float("nan")),
    )
    assert columns["grammage_g_m2"]["values"] == [60.123457, None]
    assert columns["formed_at_utc"]["values"] == [1790834400, None]
    assert columns["n_layers"]["values"] == [2, None]
    assert (columns["grammage_g_m2"]["decimals"], columns["n_layers"]["decimals"]) == (2, 0)


def test_decimals_of_a_column_follow_from_the_typical_standard_uncertainty_of_sheets():
    """Two significant digits of the uncertainty, as JCGM 100:2008 (GUM), 7.2.6, advises at most."""
    rows = [
        sheet("S-1", grammage_g_m2=60.123, tensile_index_md_nm_g=71.234, tensile_index_md_cd_ratio=1.51515)
    ]
    uncertainties = [
        typical("grammage", None, 1.6),
        typical("grammage", None, 0.0123, of_table="trial_point"),
        typical("tensile_index", "MD", 0.94),
        typical("tensile_index", "CD", 12.0),
        typical("tensile_index", "MD/CD", 0.031),
    ]
    columns = table(*rows, uncertainties=uncertainties)
    names = ("grammage_g_m2", "tensile_index_md_nm_g", "tensile_index_md_cd_ratio")
    assert [columns[name]["decimals"] for name in names] == [1, 2, 3]
    assert columns["grammage_g_m2"]["values"] == [60.123], "the download has all digits"


def test_without_uncertainty_decimals_follow_from_the_largest_value():
    columns = table(sheet("S-1", jet_to_wire_ratio=0.8520), sheet("S-2", jet_to_wire_ratio=1.3451))
    assert columns["jet_to_wire_ratio"]["decimals"] == 3


def test_headings_come_from_the_models_with_their_units():
    headings = {name: column["heading"] for name, column in table(sheet("S-1")).items()}
    assert headings["grammage_g_m2"] == "Grammage, g/m²"
    assert headings["tensile_index_md_nm_g"] == "Tensile index MD, N·m/g"
    assert headings["tensile_stiffness_index_md_cd_ratio"] == "Tensile stiffness index MD/CD"
    assert headings["formed_at_utc"] == "Formed at"


def test_sheets_and_trials_link_to_their_pages():
    columns = table(sheet("S-1", trial="T/1"), sheet("S-2", trial="T/1"))
    assert [path.split("-")[0] for path in columns["sheet_id"]["pages"]] == ["sheet/s", "sheet/s"]
    assert len(set(columns["sheet_id"]["pages"])) == 2
    (trial,) = columns["trial"]["pages"]
    assert trial.startswith("trial/t-1-")
    assert trial.count("/") == 1


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_stay_texts(text):
    row = sheet(text, trial=text, trial_point=text, furnishes=text, remarks=text)
    columns = table(row)
    for name in ("sheet_id", "trial", "trial_point", "furnishes", "remarks"):
        assert columns[name]["texts"] == [text]
    (target,) = columns["sheet_id"]["pages"]
    assert target.startswith("sheet/")
    assert set(target.removeprefix("sheet/")) <= set("abcdefghijklmnopqrstuvwxyz0123456789-.")
    html = page.page(published(row, laboratory=text))
    assert "<script>alert" not in html
    assert "<img" not in html
    assert str(1237 * 1013) not in html


def test_without_javascript_the_published_table_is_named():
    html = page.page(published(sheet("S-1")))
    note = html[html.index("<noscript>") : html.index("</noscript>")]
    assert "<code>sheet</code>" in note
    assert "latest/sheet.parquet" in note


def test_the_html_contains_no_rows():
    one, many = (page.page(published(*(sheet(f"S-{n}") for n in range(count)))) for count in (1, 5_000))
    assert abs(len(many) - len(one)) < 50


def test_times_are_in_utc_with_the_laboratorys_offset():
    summer, winter = (datetime(2026, month, 1, 6, tzinfo=ZoneInfo("Europe/Helsinki")) for month in (10, 11))
    formed = table(*(sheet(f"S-{at.month}", formed_at_utc=at) for at in (summer, winter)))["formed_at_utc"]
    assert formed["values"] == [at.timestamp() for at in (summer, winter)]
    assert formed["offsets"] == [3 * 3600, 2 * 3600]
