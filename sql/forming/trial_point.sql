-- Purpose: the forming, furnish, pressing and drying of each trial point as means over its sheets. A value of
--     furnish, pressing or drying is NULL where a sheet has none; different texts are joined.
-- Grain: One row per trial point.
-- Inputs: forming.sheet, forming.whole_sheet, forming.pressing, forming.drying
SELECT
    sheet.trial,
    sheet.trial_point,
    count(*) AS n_sheets,
    min(sheet.formed_at_utc) AS first_formed_at_utc,
    max(sheet.formed_at_utc) AS last_formed_at_utc,
    favg(sheet.n_layers) AS n_layers,
    favg(sheet.target_grammage_g_m2) AS target_grammage_g_m2,
    favg(forming.wire_speed_m_min) AS wire_speed_m_min,
    favg(forming.jet_speed_m_min) AS jet_speed_m_min,
    favg(forming.jet_to_wire_ratio) AS jet_to_wire_ratio,
    favg(forming.consistency_pct) AS consistency_pct,
    favg(forming.stock_volume_l) AS stock_volume_l,
    favg(forming.oven_dry_mass_g) AS oven_dry_mass_g,
    favg(forming.predicted_grammage_g_m2) AS predicted_grammage_g_m2,
    CASE WHEN count(forming.carry_over) > 0 THEN count(*) FILTER (WHERE forming.carry_over) END
        AS n_sheets_with_carry_over,
    texts_of_all(forming.furnishes) AS furnishes,
    mean_of_all(forming.refining_energy_kwh_t) AS refining_energy_kwh_t,
    mean_of_all(forming.schopper_riegler_sr) AS schopper_riegler_sr,
    mean_of_all(forming.canadian_freeness_ml) AS canadian_freeness_ml,
    mean_of_all(forming.additive_dose_kg_t) AS additive_dose_kg_t,
    texts_of_all(forming.additives) AS additives,
    mean_of_all(pressing.n_press_passes) AS n_press_passes,
    mean_of_all(pressing.highest_line_load_kn_m) AS highest_line_load_kn_m,
    mean_of_all(pressing.highest_press_pressure_kpa) AS highest_press_pressure_kpa,
    texts_of_all(drying.drying_methods) AS drying_methods,
    mean_of_all(drying.highest_drying_temperature_c) AS highest_drying_temperature_c,
    texts_of_all(drying.drying_restraints) AS drying_restraints,
    mean_of_all(drying.drying_time_s) AS drying_time_s
FROM forming.sheet AS sheet
INNER JOIN forming.whole_sheet AS forming ON sheet.sheet_id = forming.sheet_id
LEFT JOIN forming.pressing AS pressing ON sheet.sheet_id = pressing.sheet_id
LEFT JOIN forming.drying AS drying ON sheet.sheet_id = drying.sheet_id
GROUP BY sheet.trial, sheet.trial_point
