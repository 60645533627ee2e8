-- Purpose: the forming conditions of each trial point as means over its sheets.
-- Grain: One row per trial point.
-- Inputs: staging.sheet, sheet_summary.forming
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
        AS n_sheets_with_carry_over
FROM staging.sheet AS sheet
INNER JOIN sheet_summary.forming AS forming ON sheet.sheet_id = forming.sheet_id
GROUP BY sheet.trial, sheet.trial_point
