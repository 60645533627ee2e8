"""Readings: every value of every test in one table, from which all means are taken."""

import pytest

from schemas.names import NEVER_POOLED
from schemas.properties import registry


def test_every_kind_of_test_gives_readings_in_the_propertys_unit(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", mass_g=0.6, area_mm2=10_000.0, state="oven_dry")
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    warehouse.add("thickness", thickness_um=90.0)
    warehouse.add("thickness", thickness_um=900.0, sheets_in_pack=10, pressure_kpa=50.2)
    warehouse.add("tensile", elongation_mm=2.0)
    rows = warehouse.rows(
        "SELECT kind, property, value, unit, direction, basis, pressure_kpa, line_number FROM reading "
        "ORDER BY line_number, property DESC"
    )
    assert [tuple(row.values()) for row in rows] == [
        ("basis_weight", "grammage", 60.0, "g/m2", None, "oven_dry", None, 2),
        ("moisture", "moisture", pytest.approx(7.0), "%", None, None, None, 3),
        ("thickness", "thickness", 90.0, "um", None, None, 100.0, 4),
        ("thickness", "thickness_stack", 90.0, "um", None, None, 50.0, 5),
        ("tensile", "tensile_strength", 4.2, "kN/m", "MD", None, None, 6),
        ("tensile", "stretch", 2.0, "%", "MD", None, None, 6),
    ]


def test_a_reading_says_why_it_is_not_in_the_means(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    warehouse.add("forming")
    warehouse.add("thickness", thickness_um=90.0)
    warehouse.add("tensile", remark="clamp_break")
    warehouse.add("basis_weight", grammage_g_m2=58.0, state="oven_dry")
    rows = warehouse.rows("SELECT property, in_means, left_out_because FROM reading")
    assert {row["property"]: (row["in_means"], row["left_out_because"]) for row in rows} == {
        "thickness": (False, "unverified"),
        "tensile_strength": (False, "clamp_break, unverified"),
        "grammage": (True, None),
    }


def test_a_test_of_an_unknown_sheet_is_no_reading(warehouse) -> None:
    warehouse.add("tensile")
    assert warehouse.rows("FROM reading") == []


def further(warehouse, *readings: tuple[float, dict]) -> None:
    """Build readings, then add some that no kind of record has: measured strengths with other conditions."""
    warehouse.add("forming")
    warehouse.add("tensile", max_force_n=60.0)
    warehouse.rows("FROM reading")
    for value, changes in readings:
        columns = ", ".join(f"{text} AS {name}" for name, text in changes.items())
        warehouse.connection.execute(
            f"INSERT INTO reading SELECT * REPLACE ({columns}, {value} AS value) FROM reading "
            "WHERE property = 'tensile_strength' LIMIT 1"
        )


@pytest.mark.parametrize("condition", NEVER_POOLED)
def test_values_of_other_conditions_are_never_pooled(unchecked_warehouse, condition) -> None:
    warehouse = unchecked_warehouse
    text = "7" if condition.endswith(("_kpa", "_s", "_mm", "_min")) else "'another'"
    further(warehouse, (5.0, {condition: text}), (7.0, {condition: text}))
    rows = warehouse.rows(
        f"SELECT {condition}, value, n, preferred FROM sheet_property WHERE property = 'tensile_strength' "
        "ORDER BY value"
    )
    first, other = rows
    assert (first[condition], first["value"], first["n"]) == (None, 4.0, 1)
    assert (str(other[condition]), other["value"], other["n"]) == (
        "another" if text != "7" else "7.0", 6.0, 2,
    )  # fmt: skip
    assert (first["preferred"], other["preferred"]) == (False, True), "the one with more readings"
    points = warehouse.rows(
        f"SELECT {condition}, value, preferred FROM trial_point_property WHERE property = 'tensile_strength'"
    )
    assert {(row["value"], row["preferred"]) for row in points} == {(4.0, False), (6.0, True)}
    assert warehouse.row("FROM sheet")["tensile_strength_md_kn_m"] == 6.0


def test_an_error_stated_with_a_reading_is_in_its_mean(unchecked_warehouse) -> None:
    warehouse = unchecked_warehouse
    further(warehouse, (5.0, {"method": "'another'", "instrument_uncertainty": "0.2"}))
    row = warehouse.row("FROM sheet_property WHERE property = 'tensile_strength' AND method = 'another'")
    assert (row["standard_uncertainty"], row["systematic_uncertainty"]) == (0.2, 0.2)
    assert row["uncertainty_of"] == "tester"


def test_every_measured_property_of_the_registry_has_readings(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=60.0)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    warehouse.add("thickness", thickness_um=90.0)
    warehouse.add("thickness", thickness_um=900.0, sheets_in_pack=10)
    warehouse.add("tensile", elongation_mm=2.0, energy_j=0.09, max_slope_n_mm=70.0)
    found = {row["property"] for row in warehouse.rows("SELECT DISTINCT property FROM reading")}
    assert found == {
        name for name, entry in registry().items() if not entry.powers and entry.readings in ("tensile", None)
    }
