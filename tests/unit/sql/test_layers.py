"""Layers, tanks and the forming of a sheet."""

import math

import pytest

JET = 1000 * 1.5 / (math.pi / 4 * 1.2**2)
"""Jet speed in m/min of 1.5 L/min through one bore of 1.2 mm without contraction."""


def test_conditions_follow_from_flow_nozzle_and_drum(warehouse) -> None:
    warehouse.add(
        "forming", flow_rate_l_min=1.5, nozzle_orifice_mm=1.2, nozzle_count=1, wire_speed_m_min=1000.0,
        spray_angle_deg=20.0, stock_volume_l=4.0, consistency_pct=0.3, jet_speed_m_min=999.0,
    )  # fmt: skip
    layer = warehouse.row("FROM layer")
    assert layer["jet_speed_m_min"] == pytest.approx(JET, rel=1e-12)
    assert layer["jet_speed_origin"] == "nozzle"
    along = JET * math.cos(math.radians(20))
    assert layer["jet_to_wire_ratio"] == pytest.approx(along / 1000, rel=1e-12)
    assert layer["speed_difference_m_min"] == pytest.approx(along - 1000, rel=1e-12)
    assert layer["rush_or_drag"] == "rush"
    assert layer["centrifugal_acceleration_m_s2"] == pytest.approx((1000 / 60) ** 2 / 0.15)
    assert layer["oven_dry_mass_g"] == pytest.approx(12.0)
    assert layer["predicted_grammage_g_m2"] == pytest.approx(12.0 / 0.198)
    assert layer["delivery_time_s"] == pytest.approx(160.0)


def test_the_logs_contraction_goes_before_the_settings(warehouse) -> None:
    nozzle = {"flow_rate_l_min": 1.5, "nozzle_orifice_mm": 1.2, "nozzle_count": 1}
    warehouse.set(contraction_coefficient=0.8)
    warehouse.add("forming", **nozzle)
    warehouse.add("forming", layer_no=2, contraction_coefficient=0.64, **nozzle)
    speeds = [row["jet_speed_m_min"] for row in warehouse.rows("FROM layer ORDER BY layer_no")]
    assert speeds == [pytest.approx(JET / 0.8), pytest.approx(JET / 0.64)]


def test_without_nozzle_data_the_logs_jet_speed_counts(warehouse) -> None:
    warehouse.add("forming", flow_rate_l_min=1.5, jet_speed_m_min=900.0, wire_speed_m_min=1000.0)
    warehouse.add("forming", layer_no=2, flow_rate_l_min=1.5, nozzle_orifice_mm=1.2)
    logged, untold = warehouse.rows("FROM layer ORDER BY layer_no")
    assert (logged["jet_speed_m_min"], logged["jet_speed_origin"]) == (900.0, "log")
    assert (logged["jet_to_wire_ratio"], logged["rush_or_drag"]) == (pytest.approx(0.9), "drag")
    assert (untold["jet_speed_m_min"], untold["jet_speed_origin"], untold["rush_or_drag"]) == (None,) * 3


def test_recipe_deviations_are_actual_minus_set_point_of_that_version(warehouse) -> None:
    warehouse.add("recipe", wire_speed_m_min=1000.0, jet_to_wire_ratio=0.9, dewatering_time_s=60.0)
    warehouse.add("recipe", recipe_version="2", wire_speed_m_min=1100.0, target_grammage_g_m2=60.0)
    warehouse.add(
        "forming", recipe="R1", recipe_version="1", wire_speed_m_min=1010.0, jet_speed_m_min=1010.0,
        dewatering_time_s=55.0,
    )  # fmt: skip
    warehouse.add("forming", sheet_id="S2", recipe="R1", recipe_version="2", wire_speed_m_min=1010.0)
    warehouse.add("forming", sheet_id="S3", recipe="R1", wire_speed_m_min=1010.0)
    first, second, third = warehouse.rows("FROM layer ORDER BY sheet_id")
    assert first["wire_speed_deviation_m_min"] == pytest.approx(10.0)
    assert first["jet_to_wire_ratio_deviation"] == pytest.approx(0.1)
    assert first["dewatering_time_deviation_s"] == pytest.approx(-5.0)
    assert first["flow_rate_deviation_l_min"] is None
    assert second["wire_speed_deviation_m_min"] == pytest.approx(-90.0)
    assert third["recipe_wire_speed_m_min"] is None, "a layer without a version follows no recipe"
    assert warehouse.row("FROM sheet WHERE sheet_id = 'S2'")["target_grammage_g_m2"] == 60.0


def test_furnish_composition_names_the_largest_share_first(warehouse) -> None:
    warehouse.add("furnish", component="softwood", share_pct=30.0)
    warehouse.add("furnish", component="hardwood", share_pct=70.0)
    warehouse.add("furnish", component="starch", dose_kg_t=7.5)
    warehouse.add("forming", furnish="F1")
    assert (
        warehouse.row("FROM layer")["furnish_composition"] == "hardwood 70 %, softwood 30 %, starch 7.5 kg/t"
    )


def test_a_sheets_ratio_is_weighted_by_the_layers_oven_dry_mass(warehouse) -> None:
    sprayed = {"stock_volume_l": 1.0, "wire_speed_m_min": 1000.0}
    warehouse.add("forming", consistency_pct=0.3, jet_speed_m_min=900.0, **sprayed)
    warehouse.add("forming", layer_no=2, consistency_pct=0.1, jet_speed_m_min=1300.0, **sprayed)
    sheet = warehouse.row("FROM sheet")
    assert sheet["jet_to_wire_ratio"] == pytest.approx((3 * 0.9 + 1 * 1.3) / 4)
    assert sheet["oven_dry_mass_g"] == pytest.approx(4.0)
    assert sheet["predicted_grammage_g_m2"] == pytest.approx(4.0 / 0.198)
    assert sheet["n_layers"] == 2


def test_part_of_a_sheets_layers_is_not_the_sheet(warehouse) -> None:
    warehouse.add(
        "forming", stock_volume_l=1.0, consistency_pct=0.3, jet_speed_m_min=900.0, wire_speed_m_min=1000.0
    )
    warehouse.add("forming", layer_no=2, stock_volume_l=1.0, jet_speed_m_min=990.0, wire_speed_m_min=1000.0)
    sheet = warehouse.row("FROM sheet")
    assert (sheet["oven_dry_mass_g"], sheet["jet_to_wire_ratio"], sheet["retention_pct"]) == (
        None,
        None,
        None,
    )
    assert sheet["stock_volume_l"] == pytest.approx(2.0)


def test_equal_ratios_need_no_weights(warehouse) -> None:
    warehouse.add("forming", jet_speed_m_min=900.0, wire_speed_m_min=1000.0)
    assert warehouse.row("FROM sheet")["jet_to_wire_ratio"] == pytest.approx(0.9)


def at(hour: int) -> str:
    return f"2026-09-01 {hour:02}:00:00"


def fill(warehouse, hour: int, furnish: str, volume_l: float | None = 10.0) -> None:
    warehouse.add("tank", happened_at_utc=at(hour), furnish=furnish, volume_l=volume_l)


def carry_over_of_layer(warehouse, hour: int = 20, furnish: str = "F2") -> bool | None:
    warehouse.add("forming", tank="K1", furnish=furnish, formed_at_utc=at(hour), stock_volume_l=1.0)
    return warehouse.row("FROM layer")["carry_over"]


@pytest.mark.parametrize(
    ("between", "expected"),
    [
        ((), True),
        (("drained",), True),
        (("cleaned",), True),
        (("drained", "cleaned"), False),
        (("cleaned", "consistency_checked", "drained"), False),
    ],
)
def test_another_furnish_carries_over_unless_drained_and_cleaned(warehouse, between, expected) -> None:
    fill(warehouse, 8, "F1")
    for place, event in enumerate(between):
        warehouse.add("tank", event=event, happened_at_utc=at(9 + place))
    fill(warehouse, 15, "F2")
    assert carry_over_of_layer(warehouse) is expected
    assert warehouse.row("FROM sheet")["carry_over"] is expected


def test_cleaning_before_the_earlier_filling_does_not_help(warehouse) -> None:
    warehouse.add("tank", event="drained", happened_at_utc=at(6))
    warehouse.add("tank", event="cleaned", happened_at_utc=at(7))
    fill(warehouse, 8, "F1")
    fill(warehouse, 9, "F2")
    assert carry_over_of_layer(warehouse) is True


def test_a_top_up_does_not_undo_a_carry_over(warehouse) -> None:
    fill(warehouse, 8, "F1")
    fill(warehouse, 9, "F2")
    fill(warehouse, 10, "F2")
    assert carry_over_of_layer(warehouse) is True


def test_a_first_filling_carries_nothing_over(warehouse) -> None:
    fill(warehouse, 8, "F2")
    assert carry_over_of_layer(warehouse) is False


def test_later_events_do_not_change_a_layer(warehouse) -> None:
    fill(warehouse, 8, "F1")
    fill(warehouse, 12, "F2")
    assert carry_over_of_layer(warehouse, hour=10, furnish="F1") is False


def test_other_tanks_do_not_matter(warehouse) -> None:
    fill(warehouse, 8, "F2")
    warehouse.add("tank", tank="K2", happened_at_utc=at(9), furnish="F1")
    assert carry_over_of_layer(warehouse) is False


def test_without_a_tank_log_carry_over_is_unknown(warehouse) -> None:
    assert carry_over_of_layer(warehouse) is None
    assert warehouse.row("FROM sheet")["carry_over"] is None


def test_layer_and_tank_of_different_furnish_are_flagged(warehouse) -> None:
    fill(warehouse, 8, "F1")
    warehouse.add("forming", tank="K1", furnish="F2", formed_at_utc=at(9))
    warehouse.add("forming", sheet_id="S2", tank="K1", furnish="F1", formed_at_utc=at(9))
    flags = [row["furnish_differs_from_tank"] for row in warehouse.rows("FROM layer ORDER BY sheet_id")]
    assert flags == [True, False]


def test_a_fill_adds_top_ups_and_ends_with_draining(warehouse) -> None:
    fill(warehouse, 8, "F1", 10.0)
    fill(warehouse, 9, "F1", 5.0)
    for place, hour in enumerate((9, 10, 13)):
        warehouse.add("forming", sheet_id=f"S{place}", tank="K1", formed_at_utc=at(hour), stock_volume_l=6.0)
    warehouse.add("tank", event="drained", happened_at_utc=at(12))
    fill(warehouse, 14, "F1", 7.0)
    first, second = warehouse.rows("FROM tank_fill ORDER BY fill_no")
    assert (first["filled_l"], first["n_layers"], first["drawn_l"], first["overdrawn_l"]) == (
        15.0,
        2,
        12.0,
        0.0,
    )
    assert str(first["ended_at_utc"]) == at(12)
    assert (second["filled_l"], second["n_layers"], second["drawn_l"], second["overdrawn_l"]) == (
        7.0,
        0,
        0.0,
        0.0,
    )
    assert second["ended_at_utc"] is None
    ended = warehouse.row("FROM layer WHERE sheet_id = 'S2'")
    assert ended["tank_fill_had_ended"] is True


def test_an_overdrawn_fill_says_by_how_much(warehouse) -> None:
    fill(warehouse, 8, "F1", 10.0)
    warehouse.add("forming", tank="K1", formed_at_utc=at(9), stock_volume_l=8.0)
    warehouse.add("forming", layer_no=2, tank="K1", formed_at_utc=at(10), stock_volume_l=4.5)
    assert warehouse.row("FROM tank_fill")["overdrawn_l"] == pytest.approx(2.5)


def test_a_fill_of_unknown_volume_is_not_called_overdrawn(warehouse) -> None:
    fill(warehouse, 8, "F1", 10.0)
    fill(warehouse, 9, "F1", None)
    warehouse.add("forming", tank="K1", formed_at_utc=at(10), stock_volume_l=18.0)
    row = warehouse.row("FROM tank_fill")
    assert (row["filled_l"], row["drawn_l"], row["overdrawn_l"]) == (None, 18.0, None)


def furnish_of_layer(warehouse, *components: dict) -> dict:
    """Return the layer made of a furnish of these components."""
    for place, component in enumerate(components):
        warehouse.add("furnish", **{"component": f"pulp {place}"} | component)
    warehouse.add("forming", furnish="F1")
    return warehouse.row("FROM layer")


def test_a_blend_is_weighted_by_the_shares_of_its_pulps(warehouse) -> None:
    layer = furnish_of_layer(
        warehouse,
        {"share_pct": 75.0, "refining_energy_kwh_t": 100.0, "schopper_riegler_sr": 24.0, "canadian_freeness_ml": 500.0},
        {"share_pct": 25.0, "refining_energy_kwh_t": 20.0, "schopper_riegler_sr": 16.0, "canadian_freeness_ml": 660.0},
    )  # fmt: skip
    assert layer["refining_energy_kwh_t"] == pytest.approx(80.0)  # 0.75 x 100 + 0.25 x 20
    assert layer["schopper_riegler_sr"] == pytest.approx(22.0)  # 0.75 x 24 + 0.25 x 16
    assert layer["canadian_freeness_ml"] == pytest.approx(540.0)  # 0.75 x 500 + 0.25 x 660
    assert (layer["additive_dose_kg_t"], layer["additives"]) == (0.0, "none")


def test_a_pulp_without_a_value_leaves_the_blend_without_one(warehouse) -> None:
    layer = furnish_of_layer(
        warehouse,
        {"share_pct": 75.0, "refining_energy_kwh_t": 100.0, "schopper_riegler_sr": 24.0},
        {"share_pct": 25.0, "refining_energy_kwh_t": 20.0},
        {"share_pct": 0.0},
    )
    assert (layer["refining_energy_kwh_t"], layer["schopper_riegler_sr"]) == (80.0, None)


@pytest.mark.parametrize(
    ("shares", "known"), [((60.0, 40.0), True), ((33.3, 66.6), True), ((60.0, 30.0), False), ((60.0, None), False)]
)  # fmt: skip
def test_shares_that_do_not_make_up_the_batch_give_no_blend(warehouse, shares, known) -> None:
    layer = furnish_of_layer(
        warehouse, *({"share_pct": share, "schopper_riegler_sr": 20.0} for share in shares)
    )
    assert layer["schopper_riegler_sr"] == (20.0 if known else None)


def test_a_value_logged_for_the_whole_blend_goes_before_the_mean_of_its_pulps(warehouse) -> None:
    layer = furnish_of_layer(
        warehouse,
        {"share_pct": 50.0, "refining_energy_kwh_t": 100.0, "schopper_riegler_sr": 30.0},
        {"share_pct": 50.0, "refining_energy_kwh_t": 50.0, "schopper_riegler_sr": 20.0},
        {"component": "blend", "schopper_riegler_sr": 27.0},
    )
    assert (layer["refining_energy_kwh_t"], layer["schopper_riegler_sr"]) == (75.0, 27.0)
    assert layer["additives"] == "none"


def test_a_pulp_alone_needs_no_share(warehouse) -> None:
    layer = furnish_of_layer(
        warehouse, {"schopper_riegler_sr": 25.0}, {"component": "starch", "dose_kg_t": 8.0}
    )
    assert (layer["schopper_riegler_sr"], layer["additives"]) == (25.0, "starch 8 kg/t")


def test_two_pulps_without_shares_give_a_value_only_where_they_agree(warehouse) -> None:
    pulps = (
        {"refining_energy_kwh_t": 60.0, "schopper_riegler_sr": 25.0},
        {"refining_energy_kwh_t": 60.0, "schopper_riegler_sr": 30.0},
    )
    layer = furnish_of_layer(warehouse, *pulps)
    assert (layer["refining_energy_kwh_t"], layer["schopper_riegler_sr"]) == (60.0, None)


def test_the_dose_is_the_sum_of_all_additives(warehouse) -> None:
    layer = furnish_of_layer(
        warehouse,
        {"share_pct": 100.0},
        {"component": "starch", "dose_kg_t": 10.0},
        {"component": "retention aid", "dose_kg_t": 0.25},
    )
    assert layer["additive_dose_kg_t"] == pytest.approx(10.25)
    assert layer["additives"] == "retention aid 0.25 kg/t, starch 10 kg/t"


def test_an_additive_without_a_dose_leaves_the_sum_unknown(warehouse) -> None:
    layer = furnish_of_layer(
        warehouse, {"share_pct": 100.0}, {"component": "starch", "dose_kg_t": 10.0}, {"component": "size"}
    )
    assert (layer["additive_dose_kg_t"], layer["additives"]) == (None, "size, starch 10 kg/t")


def test_a_furnish_that_no_log_describes_has_no_values(warehouse) -> None:
    warehouse.add("forming", furnish="F9")
    layer = warehouse.row("FROM layer")
    assert (layer["schopper_riegler_sr"], layer["additive_dose_kg_t"], layer["additives"]) == (None,) * 3


def two_layers(warehouse, first_pct: float | None, second_pct: float | None) -> dict:
    """Return a sheet of two furnishes, sprayed from 1 L each at these consistencies."""
    for furnish, energy, freeness, dose in (("F1", 100.0, 20.0, 10.0), ("F2", 20.0, 40.0, 2.0)):
        warehouse.add(
            "furnish", furnish=furnish, share_pct=100.0, refining_energy_kwh_t=energy, schopper_riegler_sr=freeness
        )  # fmt: skip
        warehouse.add("furnish", furnish=furnish, component="starch", dose_kg_t=dose)
    for layer_no, consistency_pct in enumerate((first_pct, second_pct), start=1):
        warehouse.add(
            "forming", layer_no=layer_no, furnish=f"F{layer_no}", stock_volume_l=1.0, consistency_pct=consistency_pct
        )  # fmt: skip
    return warehouse.row("FROM sheet")


def test_a_sheets_furnish_is_weighted_by_the_layers_oven_dry_mass(warehouse) -> None:
    sheet = two_layers(warehouse, 0.3, 0.1)
    assert sheet["refining_energy_kwh_t"] == pytest.approx(80.0)  # (3 x 100 + 1 x 20) / 4
    assert sheet["schopper_riegler_sr"] == pytest.approx(25.0)  # (3 x 20 + 1 x 40) / 4
    assert sheet["additive_dose_kg_t"] == pytest.approx(8.0)  # (3 x 10 + 1 x 2) / 4
    assert sheet["additives"] == "starch 10 kg/t; starch 2 kg/t"


def test_without_the_mass_of_every_layer_a_sheet_has_no_blend(warehouse) -> None:
    sheet = two_layers(warehouse, 0.3, None)
    assert (sheet["refining_energy_kwh_t"], sheet["additive_dose_kg_t"]) == (None, None)
    assert sheet["additives"] == "starch 10 kg/t; starch 2 kg/t"


def test_a_layer_of_unknown_furnish_leaves_the_sheet_without_furnish_values(warehouse) -> None:
    warehouse.add("furnish", share_pct=100.0, refining_energy_kwh_t=60.0)
    warehouse.add("forming", furnish="F1")
    warehouse.add("forming", layer_no=2)
    sheet = warehouse.row("FROM sheet")
    assert (sheet["refining_energy_kwh_t"], sheet["additives"]) == (None, None)


def test_layers_of_one_furnish_need_no_masses(warehouse) -> None:
    warehouse.add("furnish", share_pct=100.0, refining_energy_kwh_t=60.0)
    warehouse.add("forming", furnish="F1")
    warehouse.add("forming", layer_no=2, furnish="F1")
    assert warehouse.row("FROM sheet")["refining_energy_kwh_t"] == 60.0


def test_a_trial_point_has_the_means_and_the_texts_of_its_sheets(warehouse) -> None:
    for sheet, passes, load, seconds, method in (
        ("S1", 1, 20.0, 100.0, "plate"),
        ("S2", 2, 60.0, 300.0, "air"),
    ):
        warehouse.add("furnish", furnish=sheet, share_pct=100.0, schopper_riegler_sr=load)
        warehouse.add("forming", sheet_id=sheet, furnish=sheet)
        for pass_no in range(passes):
            warehouse.add(
                "pressing", sheet_id=sheet, pass_no=pass_no + 1, line_load_kn_m=load, pressure_kpa=400.0
            )
        warehouse.add(
            "drying", sheet_id=sheet, method=method, temperature_c=90.0, restraint="full", drying_time_s=seconds
        )  # fmt: skip
    point = warehouse.row("FROM trial_point")
    assert (point["n_press_passes"], point["highest_line_load_kn_m"]) == (1.5, 40.0)
    assert (point["highest_press_pressure_kpa"], point["highest_drying_temperature_c"]) == (400.0, 90.0)
    assert (point["drying_time_s"], point["schopper_riegler_sr"]) == (200.0, 40.0)
    assert (point["drying_methods"], point["drying_restraints"]) == ("air; plate", "full")
    assert (point["furnishes"], point["additives"], point["additive_dose_kg_t"]) == ("S1; S2", "none", 0.0)


def test_a_sheet_that_is_in_no_log_leaves_the_trial_point_without_a_value(warehouse) -> None:
    for sheet in ("S1", "S2"):
        warehouse.add("forming", sheet_id=sheet)
    warehouse.add("pressing", line_load_kn_m=20.0)
    warehouse.add("drying", drying_time_s=60.0, temperature_c=90.0)
    point = warehouse.row("FROM trial_point")
    for name in ("n_press_passes", "highest_line_load_kn_m", "drying_methods", "drying_time_s", "furnishes"):
        assert point[name] is None, name


def test_a_drying_step_without_a_time_leaves_the_sum_unknown(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("forming", sheet_id="S2")
    warehouse.add("drying", drying_time_s=60.0)
    warehouse.add("drying", step_no=2)
    for step, seconds in ((1, 60.0), (2, 30.0)):
        warehouse.add("drying", sheet_id="S2", step_no=step, drying_time_s=seconds)
    times = [row["drying_time_s"] for row in warehouse.rows("FROM sheet ORDER BY sheet_id")]
    assert times == [None, 90.0]


@pytest.mark.parametrize("unknown", [("drum_radius_mm",), ("forming_length_mm",), ("forming_width_mm",),
                                     ("drum_radius_mm", "forming_length_mm", "forming_width_mm")])  # fmt: skip
def test_measures_of_the_former_that_are_not_given_leave_only_what_needs_them_empty(
    warehouse, unknown
) -> None:
    warehouse.set(**dict.fromkeys(unknown))
    warehouse.add(
        "forming", stock_volume_l=4.0, consistency_pct=0.3, wire_speed_m_min=1000.0, jet_speed_m_min=900.0
    )
    warehouse.add("basis_weight", grammage_g_m2=63.0)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    warehouse.add("tensile")
    warehouse.build()
    layer, sheet = warehouse.row("FROM layer"), warehouse.row("FROM sheet")
    radius, area = "drum_radius_mm" not in unknown, not {"forming_length_mm", "forming_width_mm"} & {*unknown}
    assert (layer["centrifugal_acceleration_m_s2"] is not None) == radius
    for row, name in (
        (layer, "predicted_grammage_g_m2"),
        (sheet, "predicted_grammage_g_m2"),
        (sheet, "retention_pct"),
        (warehouse.row("FROM trial_point"), "predicted_grammage_g_m2"),
    ):
        assert (row[name] is not None) == area, name
    assert (layer["oven_dry_mass_g"], layer["jet_to_wire_ratio"]) == (pytest.approx(12.0), pytest.approx(0.9))
    assert (sheet["grammage_g_m2"], sheet["tensile_index_md_nm_g"]) == (63.0, pytest.approx(4200 / 63))
