"""Grammage, moisture, thickness and treatment of a sheet."""

import pytest


def sheet(warehouse) -> dict:
    return warehouse.row("FROM sheet")


def test_a_sheet_without_tests_has_its_conditions(warehouse) -> None:
    warehouse.add("forming", target_grammage_g_m2=60.0)
    row = sheet(warehouse)
    assert (row["sheet_id"], row["n_layers"], row["target_grammage_g_m2"]) == ("S1", 1, 60.0)
    assert (row["n_pieces_md"], row["n_thickness"], row["n_moisture"]) == (0, 0, 0)
    assert row["grammage_g_m2"] is None
    assert row["tensile_index_md_nm_g"] is None
    assert row["grammage_basis"] == "conditioned"
    assert warehouse.rows("FROM sheet_property") == []
    assert warehouse.row("FROM trial_point")["n_sheets"] == 1


def test_grammage_is_mass_over_area_over_sides_or_as_stated(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", mass_g=3.0, area_mm2=50_000.0, grammage_g_m2=999.0)
    warehouse.add("basis_weight", specimen_no=2, mass_g=3.1, length_mm=250.0, width_mm=200.0)
    warehouse.add("basis_weight", specimen_no=3, grammage_g_m2=64.0)
    row = sheet(warehouse)
    assert row["grammage_g_m2"] == pytest.approx((60 + 62 + 64) / 3)
    tidy = warehouse.row("FROM sheet_property WHERE property = 'grammage'")
    assert (tidy["n"], tidy["s"], tidy["basis"]) == (3, pytest.approx(2.0), "conditioned")
    assert tidy["cv_pct"] == pytest.approx(100 * 2 / 62)


def test_oven_dry_grammage_is_derived_from_the_sheets_own_moisture(warehouse) -> None:
    warehouse.add("forming", stock_volume_l=4.0, consistency_pct=0.3)
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.94)
    warehouse.add("moisture", specimen_no=2, mass_before_g=1.0, mass_after_g=0.92)
    row = sheet(warehouse)
    assert row["moisture_pct"] == pytest.approx(7.0)
    assert row["grammage_oven_dry_g_m2"] == pytest.approx(58.59)
    assert (row["grammage_oven_dry_derived"], row["grammage_conditioned_derived"]) == (True, False)
    assert row["retention_pct"] == pytest.approx(100 * 58.59 * 0.198 / 12.0)
    assert row["n_moisture"] == 2


def test_a_weighed_oven_dry_grammage_goes_before_a_derived_one(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    warehouse.add("basis_weight", state="oven_dry", grammage_g_m2=58.0)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    row = sheet(warehouse)
    assert (row["grammage_oven_dry_g_m2"], row["grammage_oven_dry_derived"]) == (58.0, False)


def test_conditioned_grammage_follows_where_only_the_oven_dry_one_was_weighed(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", state="oven_dry", grammage_g_m2=58.59)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    row = sheet(warehouse)
    assert row["grammage_g_m2"] == pytest.approx(63.0)
    assert row["grammage_conditioned_derived"] is True


def test_no_moisture_no_other_basis(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    row = sheet(warehouse)
    assert (row["grammage_oven_dry_g_m2"], row["grammage_oven_dry_derived"]) == (None, None)


@pytest.mark.parametrize(
    ("basis", "expected"), [("conditioned", 63.0), ("oven_dry", 58.0), ("as_received", 65.0)]
)
def test_the_settings_choose_the_basis(warehouse, basis, expected) -> None:
    warehouse.set(grammage_basis=basis)
    warehouse.add("forming")
    for state, grammage in (("conditioned", 63.0), ("oven_dry", 58.0), ("as_received", 65.0)):
        warehouse.add("basis_weight", state=state, grammage_g_m2=grammage)
    warehouse.add("thickness", thickness_um=90.0)
    warehouse.add("tensile", max_force_n=63.0)
    row = sheet(warehouse)
    assert (row["grammage_g_m2"], row["grammage_basis"]) == (expected, basis)
    assert row["apparent_density_kg_m3"] == pytest.approx(1000 * expected / 90)
    assert row["tensile_index_md_nm_g"] == pytest.approx(4200 / expected)
    piece = warehouse.row("FROM test_piece")
    assert piece["tensile_index_nm_g"] == pytest.approx(4200 / expected)
    assert piece["tensile_index_oven_dry_nm_g"] == pytest.approx(4200 / 58.0)
    index_rows = warehouse.rows("FROM sheet_property WHERE property = 'tensile_index' ORDER BY basis")
    assert {row["basis"]: row["preferred"] for row in index_rows} == {
        other: other == basis for other in ("as_received", "conditioned", "oven_dry")
    }


def thickness_at(warehouse, pressure_kpa: float | None, *values: float, pack: int = 1) -> None:
    for position, value in enumerate(values, start=1):
        warehouse.add(
            "thickness",
            position_no=position,
            thickness_um=value,
            pressure_kpa=pressure_kpa,
            sheets_in_pack=pack,
        )


def test_the_preferred_pressure_counts_alone(warehouse) -> None:
    warehouse.add("forming")
    thickness_at(warehouse, 50.0, 100.0, 102.0, 104.0)
    thickness_at(warehouse, 100.0, 90.0, 92.0)
    row = sheet(warehouse)
    assert (row["thickness_um"], row["thickness_pressure_kpa"], row["n_thickness"]) == (91.0, 100.0, 2)


def test_without_the_preferred_pressure_the_most_readings_count(warehouse) -> None:
    warehouse.add("forming")
    thickness_at(warehouse, 50.0, 100.0)
    thickness_at(warehouse, 20.0, 110.0, 112.0)
    row = sheet(warehouse)
    assert (row["thickness_um"], row["thickness_pressure_kpa"]) == (111.0, 20.0)


def test_of_as_many_readings_the_lower_pressure_counts(warehouse) -> None:
    warehouse.add("forming")
    thickness_at(warehouse, 50.0, 100.0)
    thickness_at(warehouse, 20.0, 110.0)
    thickness_at(warehouse, None, 120.0)
    row = sheet(warehouse)
    assert (row["thickness_um"], row["thickness_pressure_kpa"]) == (110.0, 20.0)


def test_single_and_stack_are_never_mixed(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    thickness_at(warehouse, 100.0, 430.0, 440.0, pack=5)
    row = sheet(warehouse)
    assert (row["thickness_um"], row["thickness_stack_um"], row["n_thickness_stack"]) == (None, 87.0, 2)
    assert (row["apparent_density_kg_m3"], row["bulk_cm3_g"]) == (None, None)
    warehouse.set(thickness_kind="stack")
    row = sheet(warehouse)
    assert row["apparent_density_kg_m3"] == pytest.approx(63_000 / 87)
    assert row["bulk_cm3_g"] == pytest.approx(87 / 63)


def test_pressing_and_drying_are_summed_up(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("pressing", line_load_kn_m=20.0)
    warehouse.add("pressing", pass_no=2, line_load_kn_m=60.0, pressure_kpa=400.0)
    warehouse.add("drying", step_no=2, method="oven", temperature_c=105.0)
    warehouse.add("drying", method="plate", temperature_c=90.0, restraint="full")
    row = sheet(warehouse)
    assert (row["n_press_passes"], row["highest_line_load_kn_m"], row["highest_press_pressure_kpa"]) == (
        2,
        60.0,
        400.0,
    )
    assert row["drying_methods"] == "plate, oven"
    assert (row["highest_drying_temperature_c"], row["drying_restraints"]) == (105.0, "full")


def test_records_that_do_not_count_are_not_used(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    for record_status in ("repeated", "superseded", "held"):
        warehouse.add("basis_weight", grammage_g_m2=500.0, record_status=record_status)
        warehouse.add("thickness", thickness_um=500.0, record_status=record_status)
        warehouse.add("moisture", mass_before_g=2.0, mass_after_g=1.0, record_status=record_status)
        warehouse.add("tensile", record_status=record_status)
        warehouse.add("pressing", record_status=record_status)
        warehouse.add("drying", record_status=record_status)
        warehouse.add("forming", layer_no=2, record_status=record_status)
        warehouse.add("tensile", sheet_id="S9", record_status=record_status)
    row = sheet(warehouse)
    assert (row["grammage_g_m2"], row["thickness_um"], row["moisture_pct"]) == (63.0, None, None)
    assert (row["n_layers"], row["n_press_passes"], row["drying_methods"]) == (1, None, None)
    assert warehouse.rows("FROM test_piece") == []
    assert warehouse.rows("FROM unmatched_test") == []


def test_readings_on_one_line_count_once_each(warehouse) -> None:
    warehouse.add("forming")
    for position_no, thickness_um in ((1, 100.0), (2, 110.0), (3, 120.0)):
        warehouse.add(
            "thickness", position_no=position_no, thickness_um=thickness_um, file_hash="wide", line_number=5
        )
    warehouse.add("basis_weight", grammage_g_m2=80.0, file_hash="wide", line_number=5)
    rows = warehouse.rows("SELECT value FROM reading WHERE kind = 'thickness' ORDER BY value")
    assert [row["value"] for row in rows] == [100, 110, 120]
    assert warehouse.row("SELECT count(*) AS n FROM reading WHERE kind = 'basis_weight'")["n"] == 1
    assert warehouse.row("SELECT count(*) AS n FROM test_atmosphere")["n"] == 4
