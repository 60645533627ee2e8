-- Purpose: every property of every trial point in one tidy table, with the sheet as the replicate.
--     Names are joined from the left: of inner joins DuckDB may build the product of the small tables first, which
--     took 76 s for 240 sheets.
-- Grain: One row per trial point, property, direction, basis and further column of what may never be pooled.
-- Inputs: value.point_value, value.property, value.uncertainty_part, value.flag, main.setting
SELECT
    value.* EXCLUDE (known_parts, verdict_rank, flags),
    CASE WHEN value.direction = 'MD/CD' THEN '1' ELSE property.unit END AS unit,
    verdict_of_rank(value.verdict_rank) AS atmosphere_verdict,
    flag.in_alphabetical_order AS flags,
    CASE WHEN NOT {is_signed} THEN coefficient_of_variation_pct(value.s, value.value) END AS cv_pct,
    expanded_uncertainty(value.standard_uncertainty) AS expanded_uncertainty,
    part.uncertainty_of,
    value.value - interval_half_width(value.s, value.n_sheets) AS interval_low,
    value.value + interval_half_width(value.s, value.n_sheets) AS interval_high,
    setting.admitted_verdicts
FROM value.point_value AS value
LEFT JOIN value.property AS property ON value.property = property.property
LEFT JOIN value.uncertainty_part AS part ON value.known_parts = part.known_parts
LEFT JOIN value.flag AS flag ON value.flags = flag.flags
CROSS JOIN main.setting AS setting
