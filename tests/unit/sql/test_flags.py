"""The verdict and the flags that stand beside each value of the tidy tables."""

import pytest


def verdict_and_flags(warehouse, table="sheet_property", **where):
    """Return verdict and flags of one preferred row."""
    condition = " AND ".join(f"{column} IS NOT DISTINCT FROM ?" for column in where)
    row = warehouse.row(f"SELECT atmosphere_verdict, flags FROM {table} WHERE {condition}", *where.values())
    return row["atmosphere_verdict"], set(row["flags"].split(",")) if row["flags"] else set()


@pytest.fixture
def measured(warehouse):
    """A sheet with weighings, thickness and test pieces without climate records: all unverified."""
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=60.0)
    warehouse.add("thickness", thickness_um=100.0)
    warehouse.add("tensile")
    warehouse.add("tensile", direction="CD", max_force_n=30.0)
    return warehouse


def in_standard_air(warehouse, sheet="S1"):
    """Log a stay of a day in a room that is read every ten minutes."""
    warehouse.add("conditioning", sheet_id=sheet, in_at_utc="2026-10-01 00:00:00")
    for hour in range(24):
        for minute in range(0, 60, 10):
            warehouse.add("climate", read_at_utc=f"2026-10-01 {hour:02}:{minute:02}:00")


def test_nothing_is_flagged_where_nothing_is_odd(measured):
    assert verdict_and_flags(measured, direction="MD", property="tensile_index", basis="conditioned") == (
        "unverified",
        set(),
    )
    assert verdict_and_flags(measured, property="thickness", basis=None) == ("unverified", set())
    assert verdict_and_flags(measured, property="grammage", basis="conditioned") == ("unverified", set())
    assert verdict_and_flags(measured, "trial_point_property", property="bulk", basis="conditioned") == (
        "unverified",
        set(),
    )


def test_the_verdict_is_that_of_the_readings_that_count(warehouse):
    warehouse.add("forming")
    in_standard_air(warehouse)
    warehouse.add("basis_weight", grammage_g_m2=60.0, tested_at_utc="2026-10-01 12:00:00")
    warehouse.add("tensile", tested_at_utc="2026-10-01 13:00:00")
    warehouse.add("tensile", specimen_no=2, tested_at_utc="2026-10-01 01:00:00")
    warehouse.add("tensile", direction="CD", tested_at_utc="2026-10-01 13:00:00")
    index = {"property": "tensile_index", "basis": "conditioned"}
    assert verdict_and_flags(warehouse, direction="MD", **index)[0] == "off_standard", (
        "one piece had stayed for an hour only"
    )
    assert verdict_and_flags(warehouse, direction="CD", **index)[0] == "standard"
    assert verdict_and_flags(warehouse, direction="GM", **index)[0] == "off_standard"
    assert verdict_and_flags(warehouse, direction="MD/CD", **index)[0] == "off_standard"
    assert verdict_and_flags(warehouse, property="grammage", basis="conditioned")[0] == "standard"

    warehouse.set(admitted_verdicts="standard")
    assert verdict_and_flags(warehouse, direction="MD", **index) == ("standard", {"readings_left_out"})
    assert verdict_and_flags(warehouse, direction="CD", **index) == ("standard", set())


def test_a_grammage_that_is_not_weighed_is_flagged_where_it_enters(measured):
    measured.add("moisture", mass_before_g=2.0, mass_after_g=1.86)
    assert verdict_and_flags(measured, direction="MD", property="tensile_index", basis="oven_dry")[1] == {
        "derived_grammage"
    }
    assert (
        verdict_and_flags(measured, direction="MD", property="tensile_index", basis="conditioned")[1] == set()
    )
    assert verdict_and_flags(measured, direction="MD", property="tensile_strength", basis=None)[1] == set()
    assert verdict_and_flags(measured, property="apparent_density", basis="oven_dry")[1] == {
        "derived_grammage"
    }
    assert verdict_and_flags(measured, property="grammage", basis="oven_dry")[0] == "unverified"


def test_a_weighing_oven_dry_needs_no_atmosphere(warehouse):
    warehouse.add("forming")
    warehouse.add("basis_weight", state="oven_dry", grammage_g_m2=56.0)
    assert verdict_and_flags(warehouse, property="grammage", basis="oven_dry") == (None, set())


def test_a_moisture_of_the_trial_point_and_an_odd_one_are_flagged(measured):
    measured.add("forming", sheet_id="S2")
    measured.add("moisture", sheet_id="S2", mass_before_g=2.0, mass_after_g=1.86)
    assert verdict_and_flags(measured, property="grammage", basis="oven_dry", sheet_id="S1")[1] == {
        "derived_grammage",
        "moisture_of_trial_point",
    }


def test_a_trial_point_has_the_flags_and_the_worst_verdict_of_its_sheets(measured):
    measured.add("forming", sheet_id="S2", formed_at_utc="2026-09-30 08:00:00")
    in_standard_air(measured, "S2")
    for direction in ("MD", "CD"):
        measured.add("tensile", sheet_id="S2", direction=direction, tested_at_utc="2026-10-01 13:00:00")
        measured.add("tensile", sheet_id="S2", direction=direction, specimen_no=2, remark="clamp_break")
    strength = {"direction": "MD", "property": "tensile_strength"}
    assert verdict_and_flags(measured, sheet_id="S1", **strength) == ("unverified", set())
    assert verdict_and_flags(measured, sheet_id="S2", **strength) == ("standard", {"readings_left_out"})
    assert verdict_and_flags(measured, "trial_point_property", **strength) == (
        "unverified",
        {"readings_left_out"},
    )


def test_carry_over_is_flagged_on_every_value_of_the_sheet(measured):
    measured.add("forming", sheet_id="S3", tank="K1", furnish="F2", formed_at_utc="2026-09-03 08:00:00")
    measured.add("tank", furnish="F1", happened_at_utc="2026-09-01 08:00:00")
    measured.add("tank", furnish="F2", happened_at_utc="2026-09-02 08:00:00")
    measured.add("tensile", sheet_id="S3")
    assert measured.row("SELECT carry_over FROM sheet WHERE sheet_id = 'S3'")["carry_over"]
    strength = {"direction": "MD", "property": "tensile_strength"}
    assert verdict_and_flags(measured, sheet_id="S3", **strength)[1] == {"carry_over"}
    assert verdict_and_flags(measured, sheet_id="S1", **strength)[1] == set()
