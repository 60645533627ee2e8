-- Purpose: every property of every sheet in one tidy table.
--     Names are joined from the left: of inner joins DuckDB may build the product of the small tables first, which
--     took 76 s for 240 sheets.
-- Grain: One row per sheet, property, direction, basis and further column of what may never be pooled.
-- Inputs: value.sheet_value, value.property, value.uncertainty_part, value.flag, forming.sheet, main.setting
SELECT
    value.sheet_id,
    sheet.trial,
    sheet.trial_point,
    value.direction,
    value.property,
    value.basis,
    {value_never_pooled},
    value.n,
    value.n_left_out,
    setting.admitted_verdicts,
    verdict_of_rank(value.verdict_rank) AS atmosphere_verdict,
    flag.in_order AS flags,
    value.value,
    CASE WHEN value.direction = 'MD/CD' THEN '1' ELSE property.unit END AS unit,
    value.s,
    CASE WHEN NOT {is_signed} THEN coefficient_of_variation_pct(value.s, value.value) END AS cv_pct,
    value.standard_uncertainty,
    expanded_uncertainty(value.standard_uncertainty) AS expanded_uncertainty,
    value.systematic_uncertainty,
    part.uncertainty_of,
    value.value - interval_half_width(value.s, value.n) AS interval_low,
    value.value + interval_half_width(value.s, value.n) AS interval_high,
    value.assumption,
    value.preferred
FROM value.sheet_value AS value
LEFT JOIN value.property AS property ON value.property = property.property
LEFT JOIN value.uncertainty_part AS part ON value.known_parts = part.known_parts
LEFT JOIN value.flag AS flag ON value.flags = flag.flags
INNER JOIN forming.sheet AS sheet ON value.sheet_id = sheet.sheet_id
CROSS JOIN main.setting AS setting
WHERE value.value IS NOT NULL
