"""What the page reads of rooms, testers and tests' air: shares of time, gaps, thinning, means that count."""

from datetime import UTC, datetime, timedelta

import pytest

from pipelines.warehouse.statements import statement

START = datetime(2026, 10, 1, tzinfo=UTC).replace(tzinfo=None)
QUARTER = timedelta(minutes=15)


def logged(warehouse, readings, room="R1", step=QUARTER):
    """Add readings of a room, each ``(temperature, humidity)``, or None for one that is missing."""
    for place, reading in enumerate(readings):
        if reading is not None:
            temperature, humidity = reading
            warehouse.add(
                "climate",
                room=room,
                read_at_utc=START + place * step,
                temperature_c=temperature,
                relative_humidity_pct=humidity,
            )


def rows(warehouse, name):
    return warehouse.rows(statement(f"pages/{name}"))


def test_a_reading_holds_until_the_next(warehouse):
    within, warm, dry = (23.0, 50.0), (24.5, 50.0), (23.0, 47.0)
    logged(
        warehouse, [within, within, warm, dry, within, within]
    )  # 75 min in all, the last reading covers no time
    (room,) = rows(warehouse, "room")
    assert room["logged_h"] == pytest.approx(1.25)
    assert room["out_pct"] == pytest.approx(40)
    assert room["temperature_out_pct"] == pytest.approx(20)
    assert room["humidity_out_pct"] == pytest.approx(20)
    assert room["last_out_at_utc"] == START + 3 * QUARTER
    assert room["last_temperature_out_at_utc"] == START + 2 * QUARTER
    assert (room["n_gaps"], room["gap_h"], room["longest_gap_h"]) == (0, 0, None)


def test_the_limits_themselves_are_within(warehouse):
    logged(warehouse, [(24.0, 52.0), (22.0, 48.0), (23.0, 50.0)])
    (room,) = rows(warehouse, "room")
    assert (room["out_pct"], room["last_out_at_utc"]) == (0, None)


def test_a_gap_is_not_logged(warehouse):
    logged(warehouse, [(23.0, 50.0), (25.0, 50.0), None, None, None, None, None, (23.0, 50.0), (23.0, 50.0)])
    (room,) = rows(warehouse, "room")
    assert room["logged_h"] == pytest.approx(0.5), "a quarter before and a quarter after the gap"
    assert room["out_pct"] == 0, "the time above the limit is unknown"
    assert room["last_out_at_utc"] == START + QUARTER
    assert (room["n_gaps"], room["gap_h"], room["longest_gap_h"]) == (1, 1.5, 1.5)
    assert room["longest_gap_from_utc"] == START + QUARTER


def test_readings_too_far_apart_tell_no_share(warehouse):
    logged(warehouse, [(23.0, 50.0)] * 3, step=timedelta(hours=2))
    (room,) = rows(warehouse, "room")
    assert (room["logged_h"], room["out_pct"], room["n_gaps"]) == (0, None, 2)


def test_means_are_held_against_the_limits_where_the_settings_average(warehouse):
    readings = [(23.0, 50.0)] * 4 + [(24.5, 50.0)] + [(23.0, 50.0)] * 4
    logged(warehouse, readings)
    assert rows(warehouse, "room")[0]["last_out_at_utc"] is not None
    warehouse.set(averaging_min=60.0)
    assert rows(warehouse, "room")[0]["last_out_at_utc"] is None


def test_rooms_are_apart_and_superseded_readings_are_not_there(warehouse):
    logged(warehouse, [(23.0, 50.0)] * 3, room="R1")
    logged(warehouse, [(27.0, 50.0)] * 3, room="R2")
    warehouse.add(
        "climate", room="R1", read_at_utc=START + QUARTER, temperature_c=99.0, record_status="superseded"
    )
    first, second = rows(warehouse, "room")
    assert (first["room"], first["out_pct"], first["highest_temperature_c"]) == ("R1", 0, 23.0)
    assert (second["room"], second["out_pct"]) == ("R2", 100)


def test_hours_have_lowest_mean_and_highest(warehouse):
    logged(warehouse, [(22.0, 49.0), (23.0, 50.0), (24.0, 51.0), (23.0, 50.0), (22.5, 50.5)])
    first, second = rows(warehouse, "room_hour")
    assert (first["from_utc"], first["hours"], first["n_readings"]) == (START, 1, 4)
    assert (first["lowest_temperature_c"], first["temperature_c"], first["highest_temperature_c"]) == (
        22,
        23,
        24,
    )
    assert (first["lowest_humidity_pct"], first["relative_humidity_pct"], first["highest_humidity_pct"]) == (
        49,
        50,
        51,
    )
    assert (second["from_utc"], second["temperature_c"]) == (START + timedelta(hours=1), 22.5)


def test_a_line_breaks_at_a_gap(warehouse):
    logged(warehouse, [(23.0, 50.0)] * 8 + [None] * 8 + [(23.0, 50.0)] * 8)
    assert [row["stretch"] for row in rows(warehouse, "room_hour")] == [0, 0, 1, 1]


@pytest.mark.parametrize("days", [10, 365, 3 * 365])
def test_a_long_log_is_thinned_for_drawing(warehouse, days):
    warehouse.connection.execute(
        "INSERT INTO records.climate (file_hash, line_number, record_key, record_digest, record_status, room, "
        "read_at_utc, temperature_c, relative_humidity_pct) SELECT 'f', n + 1, n, 'd', 'loaded', 'R1', "
        "TIMESTAMP '2026-01-01 00:07:00' + to_minutes(30 * n), 23 + n % 2, 50 FROM range(48 * ?) AS span (n)",
        [days],
    )
    hours = rows(warehouse, "room_hour")
    assert len(hours) <= 2001
    assert sum(row["n_readings"] for row in hours) == 48 * days
    assert {row["highest_temperature_c"] for row in hours} == {24.0}, (
        "no reading is lost, a peak least of all"
    )


def test_readings_that_count_make_the_mean(warehouse):
    warehouse.set(admitted_verdicts="standard")
    at = START + timedelta(hours=10)
    logged(warehouse, [(23.0, 50.0)] * 49)
    warehouse.add("forming")
    warehouse.add("forming", sheet_id="S2")
    warehouse.add("conditioning", in_at_utc=START)
    for position, (thickness, tested_at) in enumerate(
        [(100.0, at), (102.0, at + QUARTER), (500.0, START)], 1
    ):
        warehouse.add("thickness", position_no=position, thickness_um=thickness, tested_at_utc=tested_at)
    warehouse.add("thickness", sheet_id="S2", thickness_um=90.0, tested_at_utc=at)
    warehouse.add("thickness", sheet_id="S2", position_no=2, thickness_um=96.0, tested_at_utc=None)
    second, first = rows(warehouse, "tester_reading")  # in the order of their last readings
    assert (first["sheet_id"], first["of_what"], first["tester"]) == ("S1", "100 kPa", "micrometer")
    assert (first["value"], first["n"], first["n_left_out"], first["counts"]) == (101, 2, 1, True)
    assert first["interval_high"] - first["value"] == pytest.approx(
        12.7062047, rel=1e-6
    )  # t(1) s / sqrt(2), s = sqrt(2)
    assert (second["sheet_id"], second["value"], second["counts"]) == ("S2", 90, False), "in no room: hollow"
    assert second["interval_low"] is None


def test_packs_states_and_pressures_are_apart(warehouse):
    warehouse.add("forming")
    for pack, pressure in ((1, 100.0), (1, 50.0), (5, 100.0)):
        warehouse.add(
            "thickness",
            sheets_in_pack=pack,
            pressure_kpa=pressure,
            thickness_um=100.0 * pack,
            tested_at_utc=START,
        )
    for state in ("conditioned", "oven_dry"):
        warehouse.add("basis_weight", state=state, mass_g=1.0, area_mm2=10000.0, tested_at_utc=START)
    warehouse.add("moisture", mass_before_g=10.0, mass_after_g=9.3, tested_at_utc=START)
    values = {(row["quantity"], row["of_what"]): row["value"] for row in rows(warehouse, "tester_reading")}
    assert values == {
        ("thickness", "50 kPa"): 100,
        ("thickness", "100 kPa"): 100,
        ("thickness_stack", "100 kPa"): 100,
        ("grammage", "oven_dry"): 100,
        ("grammage", "conditioned"): 100,
        ("moisture", None): pytest.approx(7),
    }


def test_testers_are_listed_with_and_without_readings_and_accuracy(warehouse):
    warehouse.add("forming")
    warehouse.add("tensile", tested_at_utc=START)
    warehouse.add("tensile", specimen_no=2, tested_at_utc=START + QUARTER)
    warehouse.add("moisture", tester="oven", mass_before_g=10.0, mass_after_g=9.3)
    warehouse.connection.execute(
        "INSERT INTO main.tester_accuracy (tester, force_pct) VALUES ('tensile', 1), ('spare', 2)"
    )
    oven, spare, tensile = rows(warehouse, "tester")
    assert (oven["tester"], oven["kind"], oven["n_readings"], oven["n_without_time"]) == (
        "oven",
        "moisture",
        1,
        1,
    )
    assert (spare["tester"], spare["n_readings"], spare["force_pct"]) == ("spare", None, 2)
    assert (tensile["n_readings"], tensile["n_sheets"], tensile["force_pct"]) == (2, 1, 1)
    assert (tensile["first_tested_at_utc"], tensile["last_tested_at_utc"]) == (START, START + QUARTER)


def test_reasons_that_differ_only_in_numbers_are_grouped(warehouse):
    warehouse.add("forming")
    warehouse.add("conditioning", in_at_utc=START)
    for minutes in (30, 60, 90):  # too short a stay, without a log
        warehouse.add(
            "thickness",
            position_no=minutes,
            thickness_um=100.0,
            tested_at_utc=START + timedelta(minutes=minutes),
        )
    warehouse.add("thickness", position_no=1, thickness_um=100.0)
    short, timeless = rows(warehouse, "start_climate")
    assert (short["n_tests"], short["n_reasons"], short["n_sheets"]) == (3, 3, 1)
    assert short["reason"].startswith("Conditioned 1.5 h")  # the newest test is the example
    assert (short["reason_code"], short["kinds"], short["sheets"]) == ("stay_too_short", "thickness", ["S1"])
    assert short["first_tested_at_utc"] == START + timedelta(minutes=30)
    assert short["last_tested_at_utc"] == START + timedelta(minutes=90)
    assert (timeless["reason_code"], timeless["reason"], timeless["last_tested_at_utc"]) == (
        "no_test_time",
        "No test time recorded",
        None,
    )


def test_tanks_that_something_is_wrong_with(warehouse):
    warehouse.add("forming", tank="K1", stock_volume_l=4.0, formed_at_utc="2026-09-01 09:00:00")
    warehouse.add("tank", furnish="F1", volume_l=3.0)
    warehouse.add("tank", tank="K2", furnish="F1", volume_l=3.0)
    (fill,) = rows(warehouse, "start_tank")
    assert (fill["tank"], fill["overdrawn_l"], fill["carry_over"]) == ("K1", 1.0, False)
