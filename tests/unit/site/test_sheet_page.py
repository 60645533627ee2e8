"""The page of a sheet: its HTML and its data, for the demo laboratory and for hostile texts."""

import html
import json
import math
import re
from datetime import UTC, datetime

import pytest

from pipelines.site import links, rendering
from pipelines.site.reading import Published, read
from pipelines.site.sheet import properties, trace
from pipelines.site.sheet.page import page

LAYERED = "LS-006"
HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{7*7}}",
    "javascript:alert(1)",
    "</script>",
    "\u202egnirts",
    "-rf; echo $HOME 'x'",
    "x" * 300,
)
MORNING = datetime(2026, 10, 1, 6, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def made(published, sheet_id):
    (row,) = published.of("sheet", sheet_id=sheet_id)
    return page(published, row)


def data_of(text):
    (content,) = re.findall(r'<script type="application/json" id="page-data">(.*?)</script>', text, re.S)
    return json.loads(content)


def rows_of(content, name):
    packed = content["data"][name]
    return [packed["same"] | dict(zip(packed["columns"], cells, strict=True)) for cells in packed["rows"]]


def visible(text):
    """Return a page's text without its tags, on one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def test_every_sheet_number_has_a_page(published):
    sheets = published.all("sheet")
    assert len({row["sheet_id"] for row in sheets}) == len(sheets) == 61
    for row in sheets:
        assert f"<h1>Sheet {html.escape(row['sheet_id'])}</h1>" in page(published, row)


def test_a_sheet_links_to_its_trial_and_its_neighbours(published):
    (row,) = published.of("sheet", sheet_id=LAYERED)
    text = page(published, row)
    assert f'href="../{links.trial_page(row["trial"])}"' in text
    assert (row["sheet_before"], row["sheet_after"]) == ("LS-005", "LS-007")
    for neighbour in ("LS-005", "LS-007"):
        assert f'<a href="../{links.sheet_page(neighbour)}">{neighbour}</a>' in text


def test_the_first_and_the_last_of_a_trial_have_one_neighbour(published):
    of_trial = [row for row in published.all("sheet") if row["trial"] == "jet-to-wire ladder"]
    assert "Previous sheet of the trial" not in page(published, of_trial[0])
    assert "Next:" not in page(published, of_trial[-1])


def test_each_layer_shows_its_forming_and_deviations_from_the_recipe(published):
    layers = published.of("sheet_layer", sheet_id=LAYERED)
    assert len(layers) == 3
    text = visible(made(published, LAYERED))
    assert "3 layers, formed 2026-10-27 13:20" in text
    wire_speed = re.search(r"Wire speed, m/min (.*?) Jet speed", text)[1]
    off = [row for row in layers if f"{row['wire_speed_m_min']:.0f}" != "1100"]
    assert 0 < len(off) < 3
    assert wire_speed.count("set 1100") == len(off)


def test_properties_are_a_matrix_of_values_with_uncertainty_and_n(published):
    of = {
        row["direction"]: row
        for row in published.of("sheet_property", sheet_id=LAYERED)
        if row["property"] == "tensile_index" and row["is_main"]
    }
    shown = []
    for direction in ("MD", "CD", "GM", "MD/CD"):
        value, uncertainty = of[direction]["value"], of[direction]["expanded_uncertainty"]
        places = 1 - math.floor(math.log10(of[direction]["standard_uncertainty"]))
        shown.append(f"{value:.{places}f} ± {uncertainty:.{places}f}")
        shown += [str(of[direction]["n"])] if direction in ("MD", "CD") else []
    text = visible(made(published, LAYERED))
    assert f"Tensile index, N·m/g {' '.join(shown)}" in text
    order = [
        "Curves and readings",
        "Properties",
        "Forming and furnish",
        "Pressing, drying and conditioning",
        "Records",
    ]
    headings = [html.unescape(found) for found in re.findall("<h2>(.*?)</h2>", made(published, LAYERED))]
    assert [heading for heading in headings if heading in order] == order


def test_left_out_readings_are_counted_beside_the_values(published):
    text = visible(made(published, "JW-003"))
    assert re.search(
        r"Tensile strength, kN/m 3\.87\d ± 0\.10\d 9 2\.113 ± 0\.079 10 .{20,60} MD: 5 left out", text
    )


def test_codes_are_written_as_words(published):
    text = visible(made(published, "JW-003"))
    above_the_records = text[: text.index("Imported values, and the files")]
    assert "dry side" in above_the_records
    assert "differs from the tester's result, curve: clamp slip" in above_the_records
    codes = set(re.findall(r"[a-z]+_[a-z]+", above_the_records))
    assert codes <= {"test_piece"}, "only the name of a table"


def test_coefficients_of_variation_have_the_same_decimals(published):
    shown = [row["cv_pct"] for row in properties.details(published.of("sheet_property", sheet_id=LAYERED))]
    known = [text for text in shown if text != "–"]
    assert len(known) > 10
    assert len({len(text.partition(".")[2]) for text in known}) == 1, known


def test_records_are_called_imported_values(published):
    text = made(published, LAYERED)
    assert "Imported values" in text
    assert "Original text" not in text, "the snapshot has no lines of imported records"


def test_charts_get_curves_and_readings(published):
    content = data_of(made(published, LAYERED))
    curves = rows_of(content, "curves")
    assert {row["direction"] for row in curves} == {"MD", "CD"}
    for row in curves:
        x, y = ([float(number) for number in row[axis].split(" ")] for axis in ("x", "y"))
        assert len(x) == len(y) > 50
        assert max(y) == pytest.approx(row["max_y"], abs=1e-3), "the maximum is never thinned out"
        assert x[y.index(max(y))] == pytest.approx(row["max_x"], abs=1e-3)
    readings = rows_of(content, "readings")
    kinds = {row["series"] for row in readings}
    assert kinds == {"MD", "CD", "single sheets", "packs"}
    (mean,) = [
        row for row in rows_of(content, "means") if (row["property"], row["series"]) == ("stretch", "CD")
    ]
    drawn = [row["stretch_pct"] for row in readings if row["series"] == "CD" and row["in_means"]]
    assert sum(drawn) / len(drawn) == pytest.approx(mean["value"])
    (mean,) = [row for row in rows_of(content, "means") if row["property"] == "thickness_stack"]
    drawn = [row["thickness_stack_um"] for row in readings if row["series"] == "packs" and row["in_means"]]
    assert sum(drawn) / len(drawn) == pytest.approx(mean["value"], rel=1e-6)


def test_every_property_has_a_title_and_an_axis(published):
    figures = data_of(made(published, LAYERED))["figures"]
    assert set(figures) == {"curves", "position", "temperature", "humidity"}
    assert list(figures["position"]["variants"])[-2:] == ["thickness", "thickness_stack"]
    assert len(figures["position"]["variants"]) == 11
    for name, variant in figures["position"]["variants"].items():
        assert variant["put"]["@property"] == name
        assert variant["title"]
    assert figures["temperature"]["variants"][""]["put"] == {
        "@value_title": "Temperature, °C",
        "@time_title": "Time, 2026-10-28",
    }


def test_titles_report_air_outside_limits_and_gaps(published):
    text = made(published, "JW-003")
    assert "5 outside it, 3 unverified: climate record incomplete" in visible(text)
    content = data_of(text)
    assert content["figures"]["temperature"]["variants"][""]["title"].startswith(
        "Temperature was 27.74 °C at 2026-11-01 05:00, "
    )
    (gap,) = rows_of(content, "gaps")
    assert gap["gap_min"] == 360
    runs = rows_of(content, "air")
    assert len(runs) == 2, "the line is broken where nothing was read"
    assert {row["verdict"] for row in rows_of(content, "tests")} == {"standard", "off_standard", "unverified"}


def test_every_record_of_a_sheet_is_on_its_page_with_file_and_line(published):
    text = html.unescape(made(published, LAYERED))
    records = published.of("sheet_record", sheet_id=LAYERED)
    assert {row["kind"] for row in records} >= {
        "forming",
        "pressing",
        "tensile",
        "tensile_curve",
        "thickness",
    }
    for row in records:
        (file,) = published.of("sheet_file", file_hash=row["file_hash"])
        assert f"{file['file_name']}, line {row['line_number']}<" in text
        assert row["file_hash"] in text


def test_an_unknown_sheet_number_gets_suggestions(published):
    text = made(published, "JW-O01")
    assert "This sheet is in no forming log. 5 results of it are not used yet." in visible(text)
    assert f'<a href="../{links.sheet_page("JW-001")}">JW-001</a> is meant' in text
    assert "Forming" not in text
    assert "Thickness: 5 records" in text


def record(**values):
    return {
        "kind": "thickness", "sheet_id": "S1", "file_hash": "h1", "line_number": 2, "record_status": "loaded",
        "superseded_by": None, "values_json": "{}", "verdict": None, "reason": None, "reason_code": None,
        "admitted": None,
    } | values  # fmt: skip


def thickness(value=100.0, **values):
    missing = dict.fromkeys(["tester", "replicate_no", "operator", "note", "tested_at_utc"])
    return (
        missing
        | {"position_no": 1, "sheets_in_pack": 1, "pressure_kpa": 100.0, "thickness_um": value}
        | values
    )


def test_a_superseded_record_names_file_and_line_of_its_successor():
    files = {"h1": {"file_name": "first.csv"}, "h2": {"file_name": "second.csv"}}
    old = record(record_status="superseded", superseded_by="h2:7", values_json=json.dumps(thickness(99.0)))
    again = record(
        record_status="repeated", line_number=3, values_json=json.dumps(thickness(note="as before"))
    )
    off_standard = record(
        line_number=4, verdict="off_standard", reason="too warm", values_json=json.dumps(thickness(101.25))
    )
    (kind,) = trace.by_kind([trace.with_values(row, UTC) for row in (old, again, off_standard)], files)
    assert kind.heading == "Thickness: 3 records, 2 not in use"
    assert [row["status"] for row in kind.rows] == [
        "superseded by second.csv, line 7", "repeats another line", "imported",
    ]  # fmt: skip
    assert [row["atmosphere"] for row in kind.rows] == ["–", "–", "off standard: too warm"]
    assert [row["address"] for row in kind.rows] == [
        "first.csv, line 2",
        "first.csv, line 3",
        "first.csv, line 4",
    ]
    headings = [column.heading for column in kind.columns]
    assert "Note" in headings, "a column is there where any row has a value"
    assert "Operator" not in headings
    assert [row["thickness_um"] for row in kind.rows] == ["99.00", "100.00", "101.25"], "all digits, aligned"


@pytest.mark.parametrize(
    ("sheet_id", "command"),
    [
        ("T1-003", "sheetlore trace T1-003"),
        ("T 1; rm", "sheetlore trace 'T 1; rm'"),
        ("it's", "sheetlore trace 'it'\"'\"'s'"),
        ("--lab", "sheetlore trace -- --lab"),
    ],
)
def test_the_command_quotes_the_number_for_a_shell(sheet_id, command):
    assert trace.command(sheet_id) == command


def small_site(text):
    """Return the rows of two sheets whose every text is ``text``: one in the forming log, one with tests only."""
    missing = dict.fromkeys(
        ["carry_over", "furnish_differs_from_tank", "grammage_conditioned_g_m2", "grammage_conditioned_derived",
         "grammage_oven_dry_g_m2", "grammage_oven_dry_derived", "grammage_as_received_g_m2", "moisture_pct",
         "moisture_origin", "retention_pct", "thickness_pressure_kpa", "thickness_stack_pressure_kpa",
         "n_unmatched", "suggested_sheet_id", "suggestion_reason", "sheet_before"]
    )  # fmt: skip
    sheet = missing | {
        "sheet_id": text, "in_log": True, "trial": text, "trial_point": text, "formed_at_utc": MORNING,
        "n_layers": 1, "moisture_warning": text, "sheet_after": text,
    }  # fmt: skip
    unknown = sheet | {
        "sheet_id": text + "?", "in_log": False, "n_unmatched": 1, "suggested_sheet_id": text,
        "suggestion_reason": text,
    }  # fmt: skip
    names = (
        "night",
        "sheet_layer",
        "sheet_property",
        "trial_piece",
        "sheet_air",
        "sheet_curve",
        "sheet_record",
        "sheet_gap",
    )
    rows = {name: [] for name in names}  # fmt: skip
    rows["sheet"] = [sheet, unknown]
    rows["setting"] = [
        {"laboratory": text, "time_zone": "UTC", "averaging_min": 15.0,
         "lowest_temperature_c": 22.0, "highest_temperature_c": 24.0,
         "lowest_humidity_pct": 48.0, "highest_humidity_pct": 52.0}
    ]  # fmt: skip
    rows["sheet_file"] = [
        dict.fromkeys(["record", "profile", "encoding", "recognised_by", "received_night"], text)
        | {"file_hash": "h1", "file_name": text, "changed_at_utc": MORNING}
    ]
    values = json.dumps(thickness(tester=text, note=text, operator=text, tested_at_utc="2026-10-01 06:00:00"))
    rows["sheet_record"] = [
        record(
            sheet_id=text,
            verdict="unverified",
            reason=text,
            reason_code="climate_gap",
            values_json=values,
            admitted=False,
        ),
        record(sheet_id=text + "?", values_json=values),
    ]
    rows["sheet_gap"] = [
        {"sheet_id": text, "room": text, "gap_min": 90.0}
        | dict.fromkeys(["from_utc", "begins_utc", "drawn_from_utc"], MORNING)
        | dict.fromkeys(["to_utc", "ends_utc", "drawn_to_utc"], MORNING.replace(hour=8))
    ]
    rows["sheet_curve"] = [
        {"sheet_id": text, "direction": "MD", "specimen_no": 1, "replicate_no": 1, "per_width": True, "in_means": False,
         "left_out_because": text, "usable": True, "findings": text, "disagreement": text, "n_points": 2,
         "max_x": 1.0, "max_y": 1.0, "x": "0 1", "y": "0 1"}
    ]  # fmt: skip
    return rows


@pytest.mark.parametrize("text", HOSTILE)
def test_texts_from_files_stay_text(text):
    published = Published(small_site(text))
    for row in published.all("sheet"):
        written = page(published, row)
        assert "<img" not in written
        assert "49" not in re.sub(r'(id|href)="[^"]*"', "", written)
        assert "alert" not in "".join(re.findall(r"<script(?![^>]*json)[^>]*>(.*?)</script>", written, re.S))
        assert not re.search(r'(href|src)="(?!\.\./|#|data:,)', written)
        assert len(re.findall(r"<script", written)) == len(re.findall(r"</script>", written)) == 8
        content = data_of(written)
        if row["in_log"]:
            assert rows_of(content, "gaps")[0]["room"] == rendering.visible(text)
        assert rendering.visible(text) in html.unescape(written)


def test_a_sheet_with_only_a_number_has_a_page():
    rows = small_site("S1")
    kept = {name: rows[name] if name == "setting" else [] for name in rows}
    bare = rows["sheet"][0] | {"formed_at_utc": None, "moisture_warning": None, "sheet_after": None}
    text = visible(page(Published(kept), bare))
    assert "1 layer, formed –." in text
    assert "No test of this sheet requires the standard atmosphere." in text
    assert "No record." in text
    assert "This sheet has no valid test." in text
