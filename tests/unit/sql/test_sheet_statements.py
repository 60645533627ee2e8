"""What the page reads of sheets for drawing: curves and air thinned without losing what matters, gaps, neighbours."""

import math
from datetime import UTC, datetime, timedelta

import pytest

from pipelines.warehouse.statements import statement

START = datetime(2026, 10, 1, tzinfo=UTC).replace(tzinfo=None)
MINUTE = timedelta(minutes=1)


def rows(warehouse, name):
    return warehouse.rows(statement(f"pages/{name}"))


def numbers(text):
    return [float(number) for number in text.split(" ")]


def sheet_tested(warehouse, at, sheet_id="S1", **values):
    """Add a sheet with one thickness reading in a room that it came into long before."""
    warehouse.add("forming", sheet_id=sheet_id, target_grammage_g_m2=60.0, **values)
    warehouse.add("conditioning", sheet_id=sheet_id, in_at_utc=START - timedelta(days=9))
    warehouse.add("thickness", sheet_id=sheet_id, thickness_um=100.0, tested_at_utc=at)


def logged(warehouse, first, last, step=5, **values):
    """Add readings of a room, every ``step`` minutes from ``first`` to ``last``, both included, in minutes."""
    for minute in range(first, last + 1, step):
        warehouse.add("climate", read_at_utc=START + minute * MINUTE, **values)


def test_the_air_is_read_from_the_required_stay_to_the_last_test(warehouse):
    sheet_tested(warehouse, START + 600 * MINUTE)
    logged(warehouse, 0, 900)
    (run,) = rows(warehouse, "sheet_air")
    assert (run["from_utc"], run["to_utc"]) == (START + 360 * MINUTE, START + 600 * MINUTE)
    assert numbers(run["minutes"]) == list(range(0, 241, 5))
    assert set(numbers(run["temperatures_c"])) == {23.0}
    assert rows(warehouse, "sheet_gap") == []


def test_of_long_times_the_farthest_readings_are_kept(warehouse):
    sheet_tested(warehouse, START + 600 * MINUTE)
    warehouse.add(
        "thickness", thickness_um=100.0, position_no=2, tested_at_utc=START + timedelta(days=20, minutes=1)
    )
    for minute in range(0, 20 * 1440 + 1, 15):
        temperature = 27.5 if minute == 15 * 777 else 22.0 + minute % 60 / 100
        humidity = 40.25 if minute == 15 * 1001 else 50.0
        warehouse.add(
            "climate",
            read_at_utc=START + minute * MINUTE,
            temperature_c=temperature,
            relative_humidity_pct=humidity,
        )
    (run,) = rows(warehouse, "sheet_air")
    assert 230 < len(numbers(run["minutes"])) <= 241
    assert max(numbers(run["temperatures_c"])) == run["farthest_temperature_c"] == 27.5
    assert run["farthest_temperature_at_utc"] == START + 15 * 777 * MINUTE
    assert min(numbers(run["humidities_pct"])) == run["farthest_humidity_pct"] == 40.25
    assert run["farthest_humidity_at_utc"] == START + 15 * 1001 * MINUTE


def test_averaged_readings_are_drawn_as_they_are_judged(warehouse):
    warehouse.set(averaging_min=10.0)
    sheet_tested(warehouse, START + 600 * MINUTE)
    logged(warehouse, 0, 595)
    warehouse.add("climate", read_at_utc=START + 600 * MINUTE, temperature_c=26.0)
    (run,) = rows(warehouse, "sheet_air")
    assert run["farthest_temperature_c"] == pytest.approx(24.0), "the mean of 23, 23 and 26"


def test_a_gap_splits_the_readings_and_has_its_full_length(warehouse):
    sheet_tested(warehouse, START + 600 * MINUTE)
    logged(warehouse, 0, 300)
    logged(warehouse, 400, 500)
    logged(warehouse, 531, 600, step=3)
    assert [len(numbers(run["minutes"])) for run in rows(warehouse, "sheet_air")] == [21, 24]
    first, second = rows(warehouse, "sheet_gap")
    assert (first["begins_utc"], first["ends_utc"], first["gap_min"]) == (
        START + 300 * MINUTE, START + 400 * MINUTE, 100.0,
    )  # fmt: skip
    assert first["drawn_from_utc"] == START + 360 * MINUTE, "the drawing begins there"
    assert second["gap_min"] == 31.0


def test_thirty_minutes_are_no_gap(warehouse):
    sheet_tested(warehouse, START + 600 * MINUTE)
    logged(warehouse, 0, 600, step=30)
    assert len(rows(warehouse, "sheet_air")) == 1
    assert rows(warehouse, "sheet_gap") == []


@pytest.mark.parametrize(
    ("first", "last", "gaps"),
    [
        (390, 570, []),
        (391, 600, [(360, 391)]),
        (0, 569, [(569, 600)]),
        (700, 900, [(360, 700)]),
        (0, 100, [(100, 600)]),
    ],
)
def test_a_log_that_begins_late_or_ends_early_has_a_gap(warehouse, first, last, gaps):
    sheet_tested(warehouse, START + 600 * MINUTE)
    logged(warehouse, first, last, step=1)
    found = [(row["begins_utc"], row["ends_utc"]) for row in rows(warehouse, "sheet_gap")]
    assert found == [(START + begin * MINUTE, START + end * MINUTE) for begin, end in gaps]


def test_a_room_that_was_never_read_is_one_gap(warehouse):
    sheet_tested(warehouse, START + 600 * MINUTE)
    assert rows(warehouse, "sheet_air") == []
    (gap,) = rows(warehouse, "sheet_gap")
    assert gap["gap_min"] == 240.0


def curve(warehouse, forces, elongations, **values):
    """Add a tensile record with its raw curve and what was found in it, as reducing leaves it."""
    key = {"sheet_id": "S1", "direction": "MD", "specimen_no": 1} | values
    warehouse.add("tensile", **{**key, "width_mm": values.get("width_mm"), "span_mm": values.get("span_mm")})
    warehouse.add(
        "tensile_curve",
        tester="tensile",
        elongation_mm=elongations,
        force_n=forces,
        n_points=len(forces),
        n_lines=len(forces),
        last_line_number=len(forces),
        **key,
    )


def reduced(warehouse):
    """Tell of every curve of the warehouse that it was reduced, with a slack of 0.1 mm and a force zero of 1 N."""
    warehouse.connection.execute(
        """
        INSERT INTO ledger.curve_result BY NAME
        SELECT
            record_key, record_digest, 'u' AS reduced_under, n_points, TRUE AS usable,
            list_max(force_n) - 1 AS max_force_n,
            elongation_mm[list_position(force_n, list_max(force_n))] - 0.1 AS elongation_at_max_mm,
            0.1 AS slack_removed_mm, 1.0 AS force_zero_n
        FROM records.tensile_curve
        """
    )


def test_a_thinned_curve_keeps_its_maximum_and_its_end(warehouse):
    warehouse.add("forming")
    elongations = [place / 250 for place in range(1001)]
    forces = [1 + 60 * math.sin(elongation / 4 * 2.9) for elongation in elongations]
    forces[778] = 75.5
    curve(warehouse, forces, elongations, width_mm=15.0, span_mm=100.0)
    reduced(warehouse)
    (drawn,) = rows(warehouse, "sheet_curve")
    x, y = numbers(drawn["x"]), numbers(drawn["y"])
    assert len(x) == len(y)
    assert 100 < len(x) <= 122
    assert x == sorted(x)
    assert max(y) == pytest.approx(74.5 / 15, abs=1e-4) == drawn["max_y"]
    assert x[y.index(max(y))] == pytest.approx(778 / 250 - 0.1, abs=1e-4) == drawn["max_x"]
    assert x[-1] == pytest.approx(3.9)
    assert drawn["per_width"]
    assert drawn["in_means"]


def test_without_a_width_the_curves_of_the_sheet_show_force_against_elongation(warehouse):
    warehouse.add("forming")
    curve(warehouse, [1.0, 31.0], [0.1, 2.1], width_mm=15.0, span_mm=100.0)
    curve(warehouse, [1.0, 61.0], [0.1, 1.1], specimen_no=2, span_mm=100.0)
    reduced(warehouse)
    drawn = rows(warehouse, "sheet_curve")
    assert [row["per_width"] for row in drawn] == [False, False]
    assert [(row["x"], row["y"]) for row in drawn] == [("0.0 2.0", "0.0 30.0"), ("0.0 1.0", "0.0 60.0")]


def test_neighbours_are_those_of_the_trial_in_order_of_forming(warehouse):
    for place, (sheet_id, trial) in enumerate([("C", "T1"), ("X", "T2"), ("A", "T1"), ("B", "T1")]):
        warehouse.add("forming", sheet_id=sheet_id, trial=trial, formed_at_utc=START + place * MINUTE)
    warehouse.add("thickness", sheet_id="a", thickness_um=100.0)
    warehouse.add("thickness", sheet_id="a", thickness_um=100.0, position_no=2)
    found = {row["sheet_id"]: row for row in rows(warehouse, "sheet")}
    neighbours = {name: (row["sheet_before"], row["sheet_after"]) for name, row in found.items()}
    assert neighbours == {
        "C": (None, "A"), "A": ("C", "B"), "B": ("A", None), "X": (None, None), "a": (None, None),
    }  # fmt: skip
    assert [name for name, row in found.items() if not row["in_log"]] == ["a"]
    assert (found["a"]["n_unmatched"], found["a"]["suggested_sheet_id"]) == (2, "A")


def test_every_record_is_listed_with_its_status(warehouse):
    sheet_tested(warehouse, START + 600 * MINUTE)
    warehouse.add("thickness", thickness_um=99.0, record_status="superseded", superseded_by="f:3")
    warehouse.add("thickness", sheet_id="unknown", thickness_um=99.0)
    records = rows(warehouse, "sheet_record")
    assert [(row["sheet_id"], row["kind"], row["record_status"], row["verdict"]) for row in records] == [
        ("S1", "forming", "loaded", None),
        ("S1", "conditioning", "loaded", None),
        ("S1", "thickness", "loaded", "unverified"),
        ("S1", "thickness", "superseded", None),
        ("unknown", "thickness", "loaded", None),
    ]
