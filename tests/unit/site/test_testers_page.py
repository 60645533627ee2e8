"""The page of testers, for small sets of rows, the demo laboratory and hostile texts."""

import json
import re
from datetime import datetime

import pytest

from pipelines.site.reading import Published, read
from pipelines.site.rendering import visible
from pipelines.site.testers import findings
from pipelines.site.testers.page import READINGS_DRAWN, page
from pipelines.warehouse.statements import statement
from schemas.marts import tester_accuracy

HOSTILE = '</script><img src=x onerror="alert(1)">{{ 617 * 10 }}\u202e javascript:alert(1)'
AT = datetime(2026, 10, 27, 14, 0)
SETTING = {
    "laboratory": "A laboratory", "time_zone": "UTC", "lowest_temperature_c": 22.0, "highest_temperature_c": 24.0,
    "lowest_humidity_pct": 48.0, "highest_humidity_pct": 52.0, "longest_gap_min": 30.0, "averaging_min": 0.0,
}  # fmt: skip
NO_ACCURACY = dict.fromkeys(
    name for name in tester_accuracy.TesterAccuracy.to_schema().columns if name != "tester"
)


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def one_tester(name, readings, stated=False, last=AT, curves=0):
    return {
        "tester": name, "kind": "tensile" if readings else None, "n_readings": readings, "n_curves": curves,
        "n_sheets": 3,
        "first_tested_at_utc": last, "last_tested_at_utc": last, "n_without_time": 0, "accuracy_stated": stated,
    } | NO_ACCURACY  # fmt: skip


@pytest.mark.parametrize(
    ("testers", "text"),
    [
        ([], "No reading yet."),
        ([one_tester("spare", None, stated=True)], "No reading yet."),
        (
            [one_tester("a", 1)],
            "1 reading by 1 tester, the last on 2026-10-27 14:00; the settings state the accuracy of none of them.",
        ),
        (
            [
                one_tester("a", 20, stated=True),
                one_tester("a", 4, stated=True, last=None),
                one_tester("b", 1),
                one_tester("c", None, stated=True),
            ],
            "25 readings by 2 testers, the last on 2026-10-27 14:00; the settings state the accuracy of 1 of them.",
        ),
        (
            [one_tester("a", 2, stated=True, last=None)],
            "2 readings by 1 tester; the settings state the accuracy of all of them.",
        ),
    ],
)
def test_readings_and_testers_are_counted(testers, text):
    assert findings.of_testers(testers) == text


def test_raw_curves_are_not_counted_as_readings(published):
    counted = {row["kind"]: row for row in published.all("tester") if row["tester"] == "tensile-si"}
    assert counted["tensile"]["n_readings"] == 609
    assert (counted["tensile_curve"]["n_readings"], counted["tensile_curve"]["n_curves"]) == (0, 102)
    assert findings.of_testers([one_tester("a", 20, curves=20)]).startswith("20 readings by 1 tester")


def reading(tester="a", value=3.0, counts=True, quantity="tensile_strength", of_what="MD", n_sheets=1):
    return {
        "quantity": quantity, "of_what": of_what, "tester": tester, "sheet_id": "S1", "tested_at_utc": AT,
        "counts": counts, "n_left_out": 0, "n": 5, "value": value, "interval_low": None, "interval_high": None,
        "n_sheets": n_sheets,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("readings", "text"),
    [
        ([reading()], "Tensile strength MD: 3 kN/m by a (1 sheet)"),
        (
            [reading(value=2.5), reading(value=4.25, counts=False), reading("b", 3.125)],
            "Tensile strength MD: 2.50 to 4.25 kN/m by a (2 sheets), 3.12 kN/m by b (1 sheet); 1 mean is not valid",
        ),
        (
            [reading(name) for name in "abcde"],
            "Tensile strength MD: 3 kN/m by a (1 sheet), 3 kN/m by b (1 sheet), 3 kN/m by c (1 sheet) and by 2 other "
            "testers",
        ),
    ],
)
def test_the_range_of_each_testers_means(readings, text):
    assert findings.of_readings("Tensile strength MD", "kN/m", readings) == text


def held(rule="range", count=1, whole=0, closed=False, record="tensile"):
    return {
        "rule": rule, "record": record, "closed": closed, "n_held": count + whole, "n_whole_files": whole,
        "n_files": 1 + whole,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("rules", "text"),
    [
        ([held(closed=True, count=4)], "Nothing is on hold; 4 more closed"),
        ([held()], "1 line is on hold by the rule range"),
        ([held("no_profile", 0, whole=2)], "2 files are on hold by the rule no profile"),
        (
            [held(count=8), held("no_profile", 0, whole=3), held(count=2, closed=True)],
            "3 files and 8 lines are on hold, most by the rule range (8); 2 more closed",
        ),
    ],
)
def test_holds_are_counted_by_rule(rules, text):
    assert findings.of_held(rules) == text


def room(name="R1", share=0.0, last=None, gaps=0):
    return {
        "room": name, "n_readings": 100, "first_read_at_utc": AT, "last_read_at_utc": AT, "logged_h": 24.0,
        "out_pct": share, "temperature_out_pct": share, "humidity_out_pct": share, "last_out_at_utc": last,
        "last_temperature_out_at_utc": last, "last_humidity_out_at_utc": last, "lowest_temperature_c": 22.5,
        "highest_temperature_c": 23.5, "lowest_humidity_pct": 49.0, "highest_humidity_pct": 51.0, "n_gaps": gaps,
        "gap_h": 1.5 * gaps, "longest_gap_h": 1.5 if gaps else None, "longest_gap_from_utc": AT if gaps else None,
    }  # fmt: skip


LIMITS = "23 ± 1 °C or 50 ± 2 % RH"


@pytest.mark.parametrize(
    ("share", "last", "text"),
    [
        (3.21, AT, "outside {} for 3.21 % of the logged time, last at 2026-10-27 14:00"),
        (0.001, AT, "outside {} for less than 0.01 % of the logged time, last at 2026-10-27 14:00"),
        (100.0, AT, "outside {} for 100 % of the logged time, last at 2026-10-27 14:00"),
        (0.0, None, "not outside {} in any reading"),
        (0.0, AT, "outside {} at 2026-10-27 14:00; the next reading is too late to know for how long"),
        (None, None, "never read outside {}; the readings are too far apart to know for how long"),
        (
            None,
            AT,
            "outside {} last at 2026-10-27 14:00; the readings are too far apart to know for how long",
        ),
    ],
)
def test_the_share_of_time_outside_the_limits(share, last, text):
    assert findings.of_room(room("A", share, last), LIMITS) == "In A the climate was " + text.format(LIMITS)


def test_temperature_and_humidity_have_their_own_titles():
    warm = room("A", 5.0, AT) | {"humidity_out_pct": 0.0, "last_humidity_out_at_utc": None}
    assert findings.of_temperature(warm, "23 ± 1 °C").startswith(
        "In A the temperature was outside 23 ± 1 °C for 5 %"
    )
    assert (
        findings.of_humidity(warm, "50 ± 2 % RH")
        == "In A the relative humidity was not outside 50 ± 2 % RH in any reading"
    )


def test_gaps_are_reported():
    assert findings.of_gaps(room(), 30.0) == "No two readings are further apart than 30 min."
    assert findings.of_gaps(room(gaps=2), 30.0) == (
        "2 gaps of more than 30 min, 3 h in total, the longest 1.50 h from 2026-10-27 14:00."
    )


def hour(name="R1"):
    return {
        "room": name, "from_utc": AT, "hours": 1, "stretch": 0, "n_readings": 4, "temperature_c": 23.0,
        "lowest_temperature_c": 22.9, "highest_temperature_c": 23.1, "relative_humidity_pct": 50.0,
        "lowest_humidity_pct": 49.0, "highest_humidity_pct": 51.0,
    }  # fmt: skip


def rows_of(**given):
    """Return the rows that the page reads: the settings and the given rows, else none."""
    names = ("tester", "tester_reading", "held_rule", "room", "room_hour")
    return Published({name: [] for name in names} | {"setting": [SETTING]} | given)


def content_of(html):
    (content,) = re.findall(r'<script type="application/json" id="page-data">(.*?)</script>', html, re.S)
    return json.loads(content)


def test_empty_sections_say_so():
    html = page(rows_of())
    for text in (
        "No reading yet.",
        "No reading of a known sheet has a time.",
        "Nothing is on hold.",
        "No climate log yet",
    ):
        assert text in html
    assert "<figure" not in html
    assert "vega.js" not in html, "no chart, no library for one"


def test_quantities_are_chosen_by_direction_pressure_or_state():
    readings = [
        reading(),
        reading(quantity="thickness", of_what="100 kPa"),
        reading(quantity="grammage", of_what="oven_dry"),
        reading(quantity="moisture", of_what=None),
    ]
    html = page(rows_of(tester_reading=readings))
    words = re.findall(r'<option value="[^"]*"(?: selected)?>([^<]*)</option>', html)
    assert words == ["Tensile strength MD", "Thickness, 100 kPa", "Grammage, oven dry", "Moisture"]
    variants = content_of(html)["figures"]["readings"]["variants"].values()
    assert [variant["put"]["@value_title"] for variant in variants] == [
        "Tensile strength MD, kN/m",
        "Thickness, 100 kPa, µm",
        "Grammage, oven dry, g/m²",
        "Moisture, %",
    ]


def test_each_choice_has_a_variant_of_its_figures(published):
    html = page(published)
    options = set(re.findall(r'<option value="([^"]*)"', html))
    figures = content_of(html)["figures"]
    known = [set(figure["variants"]) for figure in figures.values() if "" not in figure["variants"]]
    assert set.union(*known) == options
    assert set(figures) == {"readings", "held", "temperature", "humidity"}


def test_the_note_says_when_readings_are_not_drawn():
    assert "newest" not in page(rows_of(tester_reading=[reading(n_sheets=READINGS_DRAWN)]))
    assert "The newest 1000 sheets of each tester." in page(
        rows_of(tester_reading=[reading(n_sheets=READINGS_DRAWN + 1)])
    )
    assert f"<= {READINGS_DRAWN}" in statement("pages/tester_reading")


def test_rules_are_sorted_by_number_on_hold_and_closed_ones_come_last():
    rules = [held("a", 1), held("b", 50, closed=True), held("c", 5), held("a", 7, closed=True)]
    html = page(rows_of(held_rule=rules))
    packed = content_of(html)["data"]["held"]
    rows = [packed["same"] | dict(zip(packed["columns"], cells, strict=True)) for cells in packed["rows"]]
    assert [(row["label"], row["closed"], row["place"]) for row in rows] == [
        ("C (tensile)", False, 0),
        ("A (tensile)", False, 1),
        ("A (tensile)", True, 1),
        ("B (tensile)", True, 2),
    ]
    assert "Pale: closed" in html
    assert "Pale" not in page(rows_of(held_rule=[held()]))


def test_accuracies_are_shown_unrounded():
    html = page(rows_of(tester=[one_tester("a", 2) | {"force_pct": 0.5, "elongation_mm": 0.05}]))
    assert '<td class="number">0.5</td>' in html
    assert '<td class="number">0.05</td>' in html


def test_numbers_of_a_column_have_the_same_decimals():
    rooms = [
        room("warm") | {"logged_h": 71.23456, "out_pct": 9.8765},
        room("cool") | {"logged_h": 8.0, "out_pct": 100.0},
    ]
    html = page(rows_of(room=rooms, room_hour=[hour()]))
    for text in ("71.23", "8.00", "9.9", "100.0"):
        assert f'<td class="number">{text}</td>' in html
    html = page(
        rows_of(
            tester=[one_tester(name, 2) | {"force_pct": value} for name, value in (("a", 0.5), ("b", 0.25))]
        )
    )
    for text in ("0.50", "0.25"):
        assert f'<td class="number">{text}</td>' in html


def test_the_note_says_when_means_are_compared_with_the_limits():
    averaged = page(rows_of(setting=[SETTING | {"averaging_min": 60.0}], room=[room()], room_hour=[hour()]))
    assert "Means over 60 min are compared with the limits; the chart shows readings." in averaged
    assert "held against the limits" not in page(rows_of(room=[room()], room_hour=[hour()]))


def test_asymmetric_limits_have_the_same_notation():
    setting = SETTING | {"lowest_temperature_c": 26.5, "highest_temperature_c": 28.0}
    assert "outside 27.25 ± 0.75 °C or 50 ± 2 % RH" in page(
        rows_of(setting=[setting], room=[room(share=1.0, last=AT)])
    )


def test_texts_from_files_stay_texts():
    html = page(
        rows_of(
            tester=[one_tester(HOSTILE, 2)],
            tester_reading=[reading(HOSTILE) | {"sheet_id": HOSTILE}],
            held_rule=[held(record=HOSTILE)],
            room=[room(HOSTILE), room("__proto__")],
            room_hour=[hour(HOSTILE), hour("__proto__")],
            setting=[SETTING | {"laboratory": HOSTILE}],
        )
    )
    assert "<img" not in html
    assert html.count("</script>") == html.count("<script"), "those of the page itself"
    assert "6170" not in re.sub(r'id="page-data">.*?</script>', "", html, flags=re.S)
    content = content_of(html)
    assert visible(HOSTILE) in content["data"]["readings"]["same"].values()
    assert set(content["figures"]["humidity"]["variants"]) == {f"room: {visible(HOSTILE)}", "room: __proto__"}


def test_the_demo_laboratorys_warm_days_are_reported(published):
    html = page(published)
    warm, cool = published.all("room")
    assert warm["out_pct"] > 10 > cool["out_pct"] == 0
    assert "In room 1 the climate was outside 23 ± 1 °C or 50 ± 2 % RH for 23.8 % of the logged time" in html
    assert "In room 2 the climate was not outside 23 ± 1 °C or 50 ± 2 % RH in any reading." in html
    hours = published.of("room_hour", room="room 1")
    assert max(row["highest_temperature_c"] for row in hours) == warm["highest_temperature_c"]
    assert sum(row["n_readings"] for row in hours) == warm["n_readings"]
