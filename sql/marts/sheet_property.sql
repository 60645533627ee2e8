-- Purpose: every property of every sheet in one tidy table.
-- Grain: One row per sheet, direction, property and basis.
-- Inputs: averaged.tensile_property, averaged.physical_property, main.setting
SELECT
    sheet_id,
    trial,
    trial_point,
    direction,
    property,
    basis,
    pressure_kpa,
    n,
    n_left_out,
    admitted_verdicts,
    value,
    unit,
    s,
    coefficient_of_variation_pct(s, value) AS cv_pct,
    (uncertainty).standard AS standard_uncertainty,
    expanded_uncertainty((uncertainty).standard) AS expanded_uncertainty,
    (uncertainty).systematic AS systematic_uncertainty,
    nullif(
        concat_ws(', ', nullif((uncertainty).random_parts, ''), nullif((uncertainty).systematic_parts, '')), ''
    ) AS uncertainty_of,
    value - interval_half_width(s, n) AS interval_low,
    value + interval_half_width(s, n) AS interval_high,
    assumption,
    preferred
FROM (
    FROM averaged.tensile_property
    UNION ALL BY NAME
    FROM averaged.physical_property
)
CROSS JOIN main.setting AS setting
WHERE value IS NOT NULL
