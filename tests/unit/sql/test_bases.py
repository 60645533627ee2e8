"""Moisture: what a basis is derived with, what is odd about it, and estimates at a reference moisture."""

import math

import pytest

from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working


def sheet(warehouse, sheet_id="S1", *, moistures=(), point="A", **weighed) -> None:
    """Add a sheet with its conditioned or stated weighings and oven-dry pairs of the given moistures, %."""
    warehouse.add("forming", sheet_id=sheet_id, trial_point=point, target_grammage_g_m2=60.0)
    for state, grammage in (weighed or {"conditioned": 60.0}).items():
        warehouse.add("basis_weight", sheet_id=sheet_id, state=state, grammage_g_m2=grammage)
    for number, moisture in enumerate(moistures, start=1):
        warehouse.add(
            "moisture",
            sheet_id=sheet_id,
            specimen_no=number,
            mass_before_g=1.0,
            mass_after_g=1 - moisture / 100,
            tested_at_utc="2026-10-03 12:00:00",
        )


def test_without_pairs_of_its_own_a_sheet_takes_the_mean_of_its_trial_points_sheets(warehouse) -> None:
    sheet(warehouse)
    sheet(warehouse, "S2", moistures=(6.0, 6.0, 6.0))
    sheet(warehouse, "S3", moistures=(8.0,))
    sheet(warehouse, "S4", moistures=(9.0,), point="B")
    row = warehouse.row("FROM sheet WHERE sheet_id = 'S1'")
    assert row["moisture_origin"] == "trial_point"
    assert row["basis_moisture_pct"] == pytest.approx(7.0), "each sheet counts once"
    assert row["grammage_oven_dry_g_m2"] == pytest.approx(60 * 0.93)
    assert row["grammage_oven_dry_derived"] is True
    assert (row["moisture_pct"], row["n_moisture"]) == (None, 0), "not measured on this sheet"
    own = warehouse.row("FROM sheet WHERE sheet_id = 'S2'")
    assert (own["moisture_origin"], own["basis_moisture_pct"]) == ("sheet", pytest.approx(6.0))
    assert own["grammage_oven_dry_g_m2"] == pytest.approx(60 * 0.94)


def test_without_any_pair_in_the_trial_point_nothing_is_derived(warehouse) -> None:
    sheet(warehouse)
    sheet(warehouse, "S2", moistures=(6.0,), point="B")
    row = warehouse.row("FROM sheet WHERE sheet_id = 'S1'")
    assert (row["moisture_origin"], row["grammage_oven_dry_g_m2"]) == (None, None)


def test_a_sheet_with_both_grammages_weighed_names_no_moisture(warehouse) -> None:
    sheet(warehouse, oven_dry=55.8)
    warehouse.add(
        "basis_weight", sheet_id="S1", state="conditioned", specimen_no=9, grammage_g_m2=60.0,
        tested_at_utc="2026-10-03 12:00:00",
    )  # fmt: skip
    sheet(warehouse, "S2", moistures=(7.0,))
    row = warehouse.row("FROM sheet WHERE sheet_id = 'S1'")
    assert (row["grammage_conditioned_derived"], row["grammage_oven_dry_derived"]) == (False, False)
    assert (row["moisture_origin"], row["basis_moisture_pct"]) == (None, None)


def test_a_pair_that_is_not_admitted_does_not_tell_the_basis(warehouse) -> None:
    warehouse.set(admitted_verdicts="standard")
    sheet(warehouse, moistures=(6.0,), oven_dry=58.0)
    row = warehouse.row("FROM sheet")
    assert (row["moisture_origin"], row["moisture_pct"], row["n_left_out_moisture"]) == (None, None, 1)
    assert (row["grammage_oven_dry_g_m2"], row["grammage_conditioned_g_m2"]) == (58.0, None)


def test_the_conditioned_basis_follows_from_the_trial_points_moisture_too(warehouse) -> None:
    sheet(warehouse, oven_dry=55.8)
    sheet(warehouse, "S2", moistures=(7.0,))
    row = warehouse.row("FROM sheet WHERE sheet_id = 'S1'")
    assert row["grammage_g_m2"] == pytest.approx(60.0)
    assert (row["grammage_conditioned_derived"], row["moisture_origin"]) == (True, "trial_point")


@pytest.mark.parametrize(
    ("temperature", "humidity", "expected"),
    [
        # Computed from the two-hydrate equation with the constants of USDA FPL-RN-0268.
        (21.1, 10, 2.48), (21.1, 25, 5.36), (21.1, 40, 7.70), (21.1, 50, 9.24), (21.1, 65, 11.96),
        (21.1, 80, 15.99), (21.1, 90, 20.48), (23.0, 50, 9.19), (27.0, 65, 11.73),
        # Published with it: 140 °F (60 °C) and 55 % RH give 8.4.
        (60.0, 55, 8.4),
    ],
)  # fmt: skip
def test_what_wood_holds(temperature, humidity, expected) -> None:
    with working() as connection:
        create_macros(connection)
        query = "SELECT wood_equilibrium_regain_pct(?, ?)"
        ((regain,),) = connection.execute(query, [temperature, humidity]).fetchall()
    assert regain == pytest.approx(expected, abs=0.05 if expected == 8.4 else 0.005)


@pytest.mark.parametrize(
    ("moisture", "warning"),
    [
        # At 23 °C and 50 % RH wood holds 9.19 % of its dry mass, 8.42 % on the wet basis; two fifths are 3.55 %.
        (8.4, None),
        (8.45, "8.5 % is more than the 8.4 % that wood holds at 23.0 °C and 50 % RH"),
        (10.0, "10.0 % is more than the 8.4 % that wood holds at 23.0 °C and 50 % RH"),
        (6.5, None),
        (3.6, None),
        (3.0, "3.0 % is less than 3.5 %, two fifths of what wood holds at 23.0 °C and 50 % RH"),
    ],
)
def test_an_implausible_moisture_gives_a_warning(warehouse, moisture, warning) -> None:
    sheet(warehouse, moistures=(moisture,))
    warehouse.add("conditioning", in_at_utc="2026-10-03 06:00:00")
    warehouse.add("climate", read_at_utc="2026-10-03 11:50:00")
    assert warehouse.row("FROM sheet")["moisture_warning"] == warning


def test_without_the_rooms_air_there_is_no_bound(warehouse) -> None:
    sheet(warehouse, moistures=(20.0,))
    assert warehouse.row("FROM sheet")["moisture_warning"] is None


def corrected(warehouse) -> None:
    warehouse.set(
        reference_moisture_pct=7.0,
        corrected_properties="tensile_index,stretch",
        corrections_pct=[-4.0, 3.0],
    )


def pulled(warehouse, sheet_id="S1") -> None:
    for direction, force in (("MD", 60.0), ("CD", 30.0)):
        warehouse.add(
            "tensile",
            sheet_id=sheet_id,
            direction=direction,
            max_force_n=force,
            elongation_mm=2.0,
            energy_j=0.09,
        )


def test_an_estimate_is_published_beside_the_measured_value(warehouse) -> None:
    corrected(warehouse)
    sheet(warehouse, moistures=(8.0,))
    pulled(warehouse)
    rows = {
        (row["property"], row["direction"], row["basis"]): row
        for row in warehouse.rows(
            "FROM sheet_property WHERE property LIKE 'tensile_index%' OR property LIKE 'str%'"
        )
    }
    md, cd = 4000 / 60, 2000 / 60
    assert rows["tensile_index", "MD", "conditioned"]["value"] == pytest.approx(md), "the measured one stays"
    assert rows["tensile_index", "MD", "conditioned"]["assumption"] is None
    # From 8 % to 7 % moisture at -4 % a point: 4 % more.
    estimate = rows["tensile_index_estimated", "MD", "conditioned"]
    assert estimate["value"] == pytest.approx(1.04 * md)
    assert (estimate["unit"], estimate["n"], estimate["s"], estimate["preferred"]) == ("N.m/g", 1, None, True)
    assert estimate["assumption"] == (
        "changes by -4 % per point of moisture, taken to 7 %: the laboratory's own setting"
    )
    assert rows["tensile_index_estimated", "CD", "oven_dry"]["value"] == pytest.approx(1.04 * cd / 0.92)
    assert rows["tensile_index_estimated", "GM", "conditioned"]["value"] == pytest.approx(
        1.04 * math.sqrt(md * cd)
    )
    assert rows["stretch_estimated", "MD", None]["value"] == pytest.approx(0.97 * 2.0)
    assert ("tensile_index_estimated", "MD/CD", "conditioned") not in rows, "a ratio does not change"
    assert not any(key[0].startswith("tensile_strength_e") for key in rows)
    wide = warehouse.row("FROM sheet")
    assert wide["tensile_index_md_nm_g"] == pytest.approx(md)


def test_a_sheet_without_moisture_of_its_own_has_no_estimate(warehouse) -> None:
    corrected(warehouse)
    sheet(warehouse)
    pulled(warehouse)
    sheet(warehouse, "S2", moistures=(8.0,))
    pulled(warehouse, "S2")
    sheet(warehouse, "S3", moistures=(6.0,))
    pulled(warehouse, "S3")
    estimates = warehouse.rows(
        "FROM sheet_property WHERE property = 'stretch_estimated' AND direction = 'MD'"
    )
    assert {row["sheet_id"] for row in estimates} == {"S2", "S3"}
    pooled = warehouse.row(
        "FROM trial_point_property WHERE property = 'stretch_estimated' AND direction = 'MD'"
    )
    assert (pooled["n_sheets"], pooled["value"]) == (2, pytest.approx(2.0))
    assert pooled["s"] == pytest.approx(0.12 / math.sqrt(2))
    assert "+3 % per point" in pooled["assumption"]
    measured = warehouse.row("FROM trial_point_property WHERE property = 'stretch' AND direction = 'MD'")
    assert (measured["n_sheets"], measured["assumption"]) == (3, None)


def test_without_the_setting_there_are_no_estimates(warehouse) -> None:
    sheet(warehouse, moistures=(8.0,))
    pulled(warehouse)
    assert (
        warehouse.rows("FROM sheet_property WHERE property LIKE '%estimated' OR assumption IS NOT NULL") == []
    )
