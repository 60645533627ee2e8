-- Purpose: every property of every trial point in one tidy table, with the sheet as the replicate.
-- Grain: One row per trial point, direction, property, basis and pressure.
-- Inputs: pooled.property
SELECT
    * EXCLUDE (suffix, wide_name),
    coefficient_of_variation_pct(s, value) AS cv_pct
FROM pooled.property
