-- Purpose: every property of every sheet in one tidy table.
-- Grain: One row per sheet, direction, property and basis.
-- Inputs: quality_flags.property, staging.uncertainty_part, main.setting
SELECT
    property.sheet_id,
    property.trial,
    property.trial_point,
    property.direction,
    property.property,
    property.basis,
    property.pressure_kpa,
    property.n,
    property.n_left_out,
    setting.admitted_verdicts,
    property.atmosphere_verdict,
    property.flags,
    property.value,
    property.unit,
    property.s,
    coefficient_of_variation_pct(property.s, property.value) AS cv_pct,
    property.uncertainty.standard AS standard_uncertainty,
    expanded_uncertainty(property.uncertainty.standard) AS expanded_uncertainty,
    property.uncertainty.systematic AS systematic_uncertainty,
    part.uncertainty_of,
    property.value - interval_half_width(property.s, property.n) AS interval_low,
    property.value + interval_half_width(property.s, property.n) AS interval_high,
    property.assumption,
    property.preferred
FROM quality_flags.property AS property
INNER JOIN staging.uncertainty_part AS part ON property.uncertainty.known_parts = part.known_parts
CROSS JOIN main.setting AS setting
WHERE property.value IS NOT NULL
