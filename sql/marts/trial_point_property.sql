-- Purpose: every property of every trial point in one tidy table, with the sheet as the replicate.
-- Grain: One row per trial point, direction, property, basis and pressure.
-- Inputs: pooled.property, main.setting
SELECT
    property.* EXCLUDE (suffix, wide_name),
    coefficient_of_variation_pct(property.s, property.value) AS cv_pct,
    setting.admitted_verdicts
FROM pooled.property AS property
CROSS JOIN main.setting AS setting
