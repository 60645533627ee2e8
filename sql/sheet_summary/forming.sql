-- Purpose: the forming of a whole sheet from its layers. A sum or a weighted mean stands only where every
--     layer has what it needs: a part of a sheet's stock is not the sheet's stock.
-- Grain: One row per sheet.
-- Inputs: derived.layer
SELECT
    sheet_id,
    any_value(forming_area_m2) AS forming_area_m2,
    CASE WHEN count(*) = count(oven_dry_mass_g) THEN sum(oven_dry_mass_g) END AS oven_dry_mass_g,
    CASE WHEN count(*) = count(predicted_grammage_g_m2) THEN sum(predicted_grammage_g_m2) END
        AS predicted_grammage_g_m2,
    CASE WHEN count(*) = count(stock_volume_l) THEN sum(stock_volume_l) END AS stock_volume_l,
    CASE WHEN count(*) = count(delivery_time_s) THEN sum(delivery_time_s) END AS delivery_time_s,
    CASE
        WHEN count(*) > count(jet_to_wire_ratio) THEN NULL
        WHEN count(*) = count(oven_dry_mass_g) THEN sum(jet_to_wire_ratio * oven_dry_mass_g) / sum(oven_dry_mass_g)
        WHEN min(jet_to_wire_ratio) = max(jet_to_wire_ratio) THEN min(jet_to_wire_ratio)
    END AS jet_to_wire_ratio,
    favg(wire_speed_m_min) AS wire_speed_m_min,
    favg(jet_speed_m_min) AS jet_speed_m_min,
    favg(consistency_pct) AS consistency_pct,
    string_agg(DISTINCT furnish, ', ' ORDER BY furnish) AS furnishes,
    bool_or(carry_over) AS carry_over,
    bool_or(furnish_differs_from_tank) AS furnish_differs_from_tank
FROM derived.layer
GROUP BY sheet_id
