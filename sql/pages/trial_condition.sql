-- Purpose: how the sheets of each trial point were made, in the order the points were begun.
-- Grain: One row per trial point.
-- Inputs: main.trial_point, main.sheet
WITH made AS (
    SELECT
        trial,
        trial_point,
        string_agg(DISTINCT furnishes, '; ' ORDER BY furnishes) AS furnishes,
        string_agg(DISTINCT drying_methods, '; ' ORDER BY drying_methods) AS drying_methods,
        string_agg(DISTINCT drying_restraints, '; ' ORDER BY drying_restraints) AS drying_restraints,
        favg(delivery_time_s) AS delivery_time_s,
        favg(highest_line_load_kn_m) AS highest_line_load_kn_m,
        favg(highest_press_pressure_kpa) AS highest_press_pressure_kpa,
        favg(highest_drying_temperature_c) AS highest_drying_temperature_c,
        favg(retention_pct) AS retention_pct
    FROM main.sheet
    GROUP BY trial, trial_point
)

SELECT
    point.trial,
    point.trial_point,
    point.n_sheets,
    point.jet_to_wire_ratio,
    point.wire_speed_m_min,
    point.jet_speed_m_min,
    point.consistency_pct,
    point.stock_volume_l,
    made.delivery_time_s,
    point.n_layers,
    made.furnishes,
    point.target_grammage_g_m2,
    point.predicted_grammage_g_m2,
    made.highest_line_load_kn_m,
    made.highest_press_pressure_kpa,
    made.drying_methods,
    made.highest_drying_temperature_c,
    made.drying_restraints,
    made.retention_pct,
    point.n_sheets_with_carry_over,
    row_number() OVER (
        PARTITION BY point.trial ORDER BY point.first_formed_at_utc ASC NULLS LAST, point.trial_point ASC
    ) AS place
FROM main.trial_point AS point
INNER JOIN made ON point.trial = made.trial AND point.trial_point = made.trial_point
ORDER BY point.trial, place
