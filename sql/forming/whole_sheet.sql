-- Purpose: the forming of a whole sheet from its layers. A sum or a weighted mean is NULL where a layer lacks a
--     value, because part of a sheet's stock is not the sheet's stock.
-- Grain: One row per sheet.
-- Inputs: forming.layer
SELECT
    sheet_id,
    any_value(forming_area_m2) AS forming_area_m2,
    sum_of_all(oven_dry_mass_g) AS oven_dry_mass_g,
    sum_of_all(predicted_grammage_g_m2) AS predicted_grammage_g_m2,
    sum_of_all(stock_volume_l) AS stock_volume_l,
    sum_of_all(delivery_time_s) AS delivery_time_s,
    weighted_mean_of_all(jet_to_wire_ratio, oven_dry_mass_g) AS jet_to_wire_ratio,
    favg(wire_speed_m_min) AS wire_speed_m_min,
    favg(jet_speed_m_min) AS jet_speed_m_min,
    favg(consistency_pct) AS consistency_pct,
    string_agg(DISTINCT furnish, ', ' ORDER BY furnish) AS furnishes,
    weighted_mean_of_all(refining_energy_kwh_t, oven_dry_mass_g) AS refining_energy_kwh_t,
    weighted_mean_of_all(schopper_riegler_sr, oven_dry_mass_g) AS schopper_riegler_sr,
    weighted_mean_of_all(canadian_freeness_ml, oven_dry_mass_g) AS canadian_freeness_ml,
    weighted_mean_of_all(additive_dose_kg_t, oven_dry_mass_g) AS additive_dose_kg_t,
    texts_of_all(additives) AS additives,
    bool_or(carry_over) AS carry_over,
    bool_or(furnish_differs_from_tank) AS furnish_differs_from_tank
FROM forming.layer
GROUP BY sheet_id
