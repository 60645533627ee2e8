-- Purpose: every property of every trial point in one tidy table, with the sheet as the replicate.
-- Grain: One row per trial point, direction, property, basis and pressure.
-- Inputs: trial_point_summary.property, staging.uncertainty_part, main.setting
SELECT
    property.* EXCLUDE (suffix, wide_name, known_parts),
    coefficient_of_variation_pct(property.s, property.value) AS cv_pct,
    expanded_uncertainty(property.standard_uncertainty) AS expanded_uncertainty,
    part.uncertainty_of,
    property.value - interval_half_width(property.s, property.n_sheets) AS interval_low,
    property.value + interval_half_width(property.s, property.n_sheets) AS interval_high,
    setting.admitted_verdicts
FROM trial_point_summary.property AS property
INNER JOIN staging.uncertainty_part AS part ON property.known_parts = part.known_parts
CROSS JOIN main.setting AS setting
