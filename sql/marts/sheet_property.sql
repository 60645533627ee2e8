-- Purpose: every property of every sheet in one tidy table.
-- Grain: One row per sheet, direction, property and basis.
-- Inputs: averaged.tensile_property, averaged.physical_property
SELECT
    sheet_id,
    trial,
    trial_point,
    direction,
    property,
    basis,
    pressure_kpa,
    n,
    value,
    unit,
    s,
    coefficient_of_variation_pct(s, value) AS cv_pct,
    preferred
FROM (
    FROM averaged.tensile_property
    UNION ALL BY NAME
    FROM averaged.physical_property
)
