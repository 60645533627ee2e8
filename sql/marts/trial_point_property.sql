-- Purpose: every property of every trial point in one tidy table, with the sheet as the replicate.
-- Grain: One row per trial point, direction, property, basis and pressure.
-- Inputs: pooled.property, main.setting
SELECT
    property.* EXCLUDE (suffix, wide_name, uncertainty_of),
    coefficient_of_variation_pct(property.s, property.value) AS cv_pct,
    expanded_uncertainty(property.standard_uncertainty) AS expanded_uncertainty,
    nullif(property.uncertainty_of, '') AS uncertainty_of,
    property.value - interval_half_width(property.s, property.n_sheets) AS interval_low,
    property.value + interval_half_width(property.s, property.n_sheets) AS interval_high,
    setting.admitted_verdicts
FROM pooled.property AS property
CROSS JOIN main.setting AS setting
