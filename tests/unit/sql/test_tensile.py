"""Test pieces, the means of sheets, and trial points."""

import math

import pytest


def tested_sheet(warehouse, **changes) -> None:
    warehouse.add("forming", **changes)
    sheet_id = changes.get("sheet_id", "S1")
    warehouse.add("basis_weight", sheet_id=sheet_id, grammage_g_m2=63.0)
    warehouse.add("thickness", sheet_id=sheet_id, thickness_um=90.0)


def test_raw_values_go_before_stated_results(warehouse) -> None:
    tested_sheet(warehouse)
    warehouse.add(
        "tensile", max_force_n=63.0, elongation_mm=2.4, energy_j=0.105, max_slope_n_mm=70.0,
        tensile_strength_kn_m=9.0, stretch_pct=9.0, tea_j_m2=9.0, tensile_stiffness_kn_m=9.0,
    )  # fmt: skip
    warehouse.add(
        "tensile", specimen_no=2, width_mm=None, span_mm=None, max_force_n=63.0,
        tensile_strength_kn_m=9.0, stretch_pct=9.5, tea_j_m2=99.0, tensile_stiffness_kn_m=999.0,
    )  # fmt: skip
    raw, stated = warehouse.rows("FROM test_piece ORDER BY specimen_no")
    names = ("tensile_strength_kn_m", "stretch_pct", "tea_j_m2", "tensile_stiffness_kn_m")
    assert [raw[name] for name in names] == pytest.approx([4.2, 2.4, 70.0, 1400 / 3])
    assert [stated[name] for name in names] == [9.0, 9.5, 99.0, 999.0]
    assert raw["elastic_modulus_gpa"] == pytest.approx(1400 / 3 / 90)
    assert raw["max_force_n"] == 63.0


def test_a_piece_of_an_unweighed_sheet_has_strength_but_no_index(warehouse) -> None:
    warehouse.add("forming")
    warehouse.add("tensile")
    piece = warehouse.row("FROM test_piece")
    assert piece["tensile_strength_kn_m"] == pytest.approx(4.2)
    assert (piece["tensile_index_nm_g"], piece["elastic_modulus_gpa"]) == (None, None)
    assert {row["property"] for row in warehouse.rows("FROM sheet_property")} == {"tensile_strength"}


def test_a_clamp_break_is_left_out_with_its_reason(warehouse) -> None:
    tested_sheet(warehouse)
    warehouse.add("tensile", max_force_n=60.0)
    warehouse.add("tensile", specimen_no=2, max_force_n=64.0, remark="normal")
    warehouse.add("tensile", specimen_no=3, max_force_n=20.0, remark="clamp_break")
    pieces = warehouse.rows("FROM test_piece ORDER BY specimen_no")
    assert [(piece["in_means"], piece["left_out_because"]) for piece in pieces] == [
        (True, None),
        (True, None),
        (False, "clamp_break"),
    ]
    row = warehouse.row("FROM sheet")
    assert row["tensile_strength_md_kn_m"] == pytest.approx(62 / 15)
    assert (row["n_pieces_md"], row["n_left_out_md"], row["n_pieces_cd"]) == (2, 1, 0)


@pytest.mark.parametrize("admitting", ["", "defect", "clamp_slip, defect"])
def test_the_settings_admit_a_remark(warehouse, admitting) -> None:
    warehouse.set(left_out_remarks=admitting)
    tested_sheet(warehouse)
    warehouse.add("tensile", remark="clamp_break")
    assert warehouse.row("FROM test_piece")["in_means"] is True


def test_retests_are_numbered_in_order_of_time(warehouse) -> None:
    tested_sheet(warehouse)
    warehouse.add("tensile", tested_at_utc="2026-09-02 12:00:00", max_force_n=61.0)
    warehouse.add("tensile", tested_at_utc="2026-09-02 10:00:00", max_force_n=60.0)
    warehouse.add("tensile", specimen_no=2, replicate_no=4, max_force_n=62.0)
    warehouse.add("tensile", direction="CD", max_force_n=63.0)
    numbers = {row["max_force_n"]: row["replicate_no"] for row in warehouse.rows("FROM test_piece")}
    assert numbers == {60.0: 1, 61.0: 2, 62.0: 4, 63.0: 1}


def both_directions(warehouse, sheet_id: str = "S1", forces=((60.0, 66.0), (30.0, 33.0))) -> None:
    for direction, values in zip(("MD", "CD"), forces, strict=True):
        for number, force in enumerate(values, start=1):
            warehouse.add(
                "tensile", sheet_id=sheet_id, direction=direction, specimen_no=number, max_force_n=force,
                elongation_mm=2.0, energy_j=0.09, max_slope_n_mm=70.0,
            )  # fmt: skip


def test_wide_and_tidy_tell_the_same(warehouse) -> None:
    tested_sheet(warehouse)
    both_directions(warehouse)
    wide = warehouse.row("FROM sheet")
    md, cd = 1000 * 4.2 / 63, 1000 * 2.1 / 63
    assert wide["tensile_index_md_nm_g"] == pytest.approx(md)
    assert wide["tensile_index_cd_nm_g"] == pytest.approx(cd)
    assert wide["tensile_index_geometric_mean_nm_g"] == pytest.approx(math.sqrt(md * cd))
    assert wide["tensile_index_md_cd_ratio"] == pytest.approx(2.0)
    assert wide["breaking_length_md_km"] == pytest.approx(md / 9.80665)
    assert wide["elastic_modulus_cd_gpa"] == pytest.approx(1400 / 3 / 90)
    tidy = {
        row["direction"]: row
        for row in warehouse.rows("FROM sheet_property WHERE property = 'tensile_index' AND preferred")
    }
    assert {key: row["value"] for key, row in tidy.items()} == pytest.approx(
        {"MD": md, "CD": cd, "GM": math.sqrt(md * cd), "MD/CD": 2.0}
    )
    assert {key: row["n"] for key, row in tidy.items()} == {"MD": 2, "CD": 2, "GM": 4, "MD/CD": 4}
    assert {key: row["unit"] for key, row in tidy.items()} == {
        "MD": "N.m/g", "CD": "N.m/g", "GM": "N.m/g", "MD/CD": "1",
    }  # fmt: skip
    assert tidy["MD"]["s"] == pytest.approx(1000 / 63 * 0.4 / math.sqrt(2))
    assert tidy["GM"]["s"] is None
    assert tidy["MD"]["cv_pct"] == pytest.approx(100 * tidy["MD"]["s"] / md)


def test_every_wide_column_is_filled_by_a_full_sheet(warehouse) -> None:
    tested_sheet(warehouse)
    warehouse.add("moisture", mass_before_g=1.0, mass_after_g=0.93)
    both_directions(warehouse)
    warehouse.add("thickness", thickness_um=430.0, sheets_in_pack=5)
    tested_sheet(warehouse, sheet_id="S2")
    both_directions(warehouse, "S2")
    warehouse.add("moisture", sheet_id="S2", mass_before_g=1.0, mass_after_g=0.92)
    warehouse.add("thickness", sheet_id="S2", thickness_um=430.0, sheets_in_pack=5)
    properties = (
        "tensile",
        "breaking",
        "stretch",
        "tea_",
        "elastic",
        "moisture",
        "thickness",
        "apparent",
        "bulk",
    )
    for table in ("sheet", "trial_point"):
        for row in warehouse.rows(f"FROM {table}"):
            empty = [name for name, value in row.items() if name.startswith(properties) and value is None]
            empty = [name for name in empty if name != "moisture_warning"]
            assert empty == [], table


def test_the_sheet_is_the_replicate_of_a_trial_point(warehouse) -> None:
    for sheet_id, forces in (("S1", (60.0,)), ("S2", (66.0, 66.0, 66.0, 66.0))):
        tested_sheet(warehouse, sheet_id=sheet_id)
        both_directions(warehouse, sheet_id, (forces, forces))
    tested_sheet(warehouse, sheet_id="S3", trial_point="B")
    both_directions(warehouse, "S3")
    pooled = warehouse.row(
        "FROM trial_point_property WHERE trial_point = 'A' AND property = 'tensile_strength' AND direction = 'MD'"
    )
    assert (pooled["n_sheets"], pooled["n_readings"]) == (2, 5)
    assert pooled["value"] == pytest.approx((4.0 + 4.4) / 2), "each sheet counts once"
    assert pooled["s"] == pytest.approx(0.4 / math.sqrt(2))
    wide = {row["trial_point"]: row for row in warehouse.rows("FROM trial_point")}
    assert wide["A"]["tensile_strength_md_kn_m"] == pytest.approx(4.2)
    assert wide["A"]["tensile_strength_md_s_kn_m"] == pytest.approx(0.4 / math.sqrt(2))
    assert wide["A"]["n_sheets"] == 2
    assert wide["B"]["tensile_strength_md_s_kn_m"] is None, "one sheet has no spread between sheets"


def test_trial_points_of_the_same_name_in_two_trials_stay_apart(warehouse) -> None:
    tested_sheet(warehouse)
    tested_sheet(warehouse, sheet_id="S2", trial="T2")
    assert [row["n_sheets"] for row in warehouse.rows("FROM trial_point")] == [1, 1]


def test_bases_and_pressures_are_never_averaged_together(warehouse) -> None:
    for number, pressure in enumerate((50.0, 50.0, 100.0), start=1):
        warehouse.add("forming", sheet_id=f"S{number}")
        warehouse.add("thickness", sheet_id=f"S{number}", thickness_um=100.0 - number, pressure_kpa=pressure)
        state = "oven_dry" if number == 1 else "conditioned"
        warehouse.add("basis_weight", sheet_id=f"S{number}", state=state, grammage_g_m2=60.0 + number)
    thickness = warehouse.rows("FROM trial_point_property WHERE property = 'thickness' ORDER BY pressure_kpa")
    assert [(row["pressure_kpa"], row["n_sheets"], row["value"], row["preferred"]) for row in thickness] == [
        (50.0, 2, 98.5, False),
        (100.0, 1, 97.0, True),
    ]
    grammage = warehouse.rows("FROM trial_point_property WHERE property = 'grammage' ORDER BY basis")
    assert [(row["basis"], row["value"], row["preferred"]) for row in grammage] == [
        ("conditioned", 62.5, True),
        ("oven_dry", 61.0, False),
    ]
    wide = warehouse.row("FROM trial_point")
    assert (wide["thickness_um"], wide["grammage_g_m2"]) == (97.0, 62.5)


def test_means_keep_their_digits_on_a_large_offset(warehouse) -> None:
    warehouse.add("forming")
    readings = [1e15 + 1, 1.0, -1e15 + 0.0]
    total = warehouse.row(
        "SELECT mean_and_spread(value).mean AS mean FROM (SELECT unnest(?) AS value)", readings
    )
    assert total["mean"] == pytest.approx(2 / 3, rel=1e-12)
