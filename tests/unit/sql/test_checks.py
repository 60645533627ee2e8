"""Each check finds the fault it looks for."""

import pytest

from pipelines.warehouse.building import broken_checks

BREAKING = {
    "setting_is_one_row": "DELETE FROM setting",
    "mart_keys_are_unique": "INSERT INTO sheet_property FROM sheet_property LIMIT 1",
    "modulus_is_stiffness_index_times_density": (
        "UPDATE test_piece SET elastic_modulus_gpa = elastic_modulus_gpa * 1.000001"
    ),
    "layers_add_up_to_sheet": "UPDATE sheet SET oven_dry_mass_g = oven_dry_mass_g * 1.000001",
    "every_property_has_its_means": "DELETE FROM sheet_property WHERE property = 'tensile_strength'",
    "every_piece_is_counted": "UPDATE sheet SET n_left_out_md = n_left_out_md + 1",
    "every_test_has_one_verdict": "DELETE FROM test_atmosphere WHERE kind = 'thickness'",
    "every_verdict_has_its_reason": "UPDATE test_atmosphere SET reason = NULL, reason_code = NULL",
    "every_tensile_record_is_published": "DELETE FROM test_piece",
    "sheet_mean_is_mean_of_pieces": "UPDATE test_piece SET tensile_index_nm_g = tensile_index_nm_g * 1.000001",
    "uncertainty_is_of_its_parts": "UPDATE trial_point_property SET standard_uncertainty = 0.1, uncertainty_of = NULL",
    "values_are_finite": "UPDATE sheet_property SET value = 'nan'",
    "values_are_as_declared": "UPDATE sheet_property SET basis = 'air_dry' WHERE basis = 'conditioned'",
    "forming_record_is_one_per_layer": "INSERT INTO records.forming FROM records.forming",
    "oven_dry_is_not_above_conditioned": "UPDATE sheet SET grammage_oven_dry_g_m2 = 64",
}  # fmt: skip


@pytest.mark.parametrize("check", BREAKING)
def test_a_check_finds_rows_that_break_it(unchecked_warehouse, check) -> None:
    warehouse = unchecked_warehouse
    for layer in (1, 2):
        warehouse.add("forming", layer_no=layer, stock_volume_l=2.0, consistency_pct=0.3)
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    warehouse.add("thickness", thickness_um=90.0)
    warehouse.add("tensile", max_slope_n_mm=70.0)
    warehouse.build()
    assert broken_checks(warehouse.connection) == {}
    warehouse.connection.execute(BREAKING[check])
    assert len(broken_checks(warehouse.connection)[check]) > 0
