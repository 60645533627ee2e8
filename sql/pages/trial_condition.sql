-- Purpose: how the sheets of each trial point were made, in the order in which the points were started.
-- Grain: One row per trial point.
-- Inputs: main.trial_point, main.sheet
WITH made AS (
    SELECT
        trial,
        trial_point,
        favg(delivery_time_s) AS delivery_time_s,
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
    point.furnishes,
    point.refining_energy_kwh_t,
    point.schopper_riegler_sr,
    point.canadian_freeness_ml,
    point.additives,
    point.additive_dose_kg_t,
    point.target_grammage_g_m2,
    point.predicted_grammage_g_m2,
    point.n_press_passes,
    point.highest_line_load_kn_m,
    point.highest_press_pressure_kpa,
    point.drying_methods,
    point.highest_drying_temperature_c,
    point.drying_time_s,
    point.drying_restraints,
    made.retention_pct,
    point.n_sheets_with_carry_over,
    row_number() OVER (
        PARTITION BY point.trial ORDER BY point.first_formed_at_utc ASC NULLS LAST, point.trial_point ASC
    ) AS place
FROM main.trial_point AS point
INNER JOIN made ON point.trial = made.trial AND point.trial_point = made.trial_point
ORDER BY point.trial, place
