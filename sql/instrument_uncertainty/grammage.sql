-- Purpose: the grammage of each sheet on each basis with the uncertainty of its mean, and its sensitivity to the
--     moisture it was computed with, in g/m2 per percent.
-- Grain: One row per sheet with weighings or oven-dry pairs, and basis.
-- Inputs: sheet_measurement.grammage
SELECT
    sheet_id,
    'conditioned' AS basis,
    conditioned AS summary,
    CASE WHEN conditioned_derived THEN conditioned.mean / (100 - basis_moisture.mean) END AS per_moisture,
    basis_moisture
FROM sheet_measurement.grammage
UNION ALL
SELECT
    sheet_id,
    'oven_dry',
    oven_dry,
    CASE WHEN oven_dry_derived THEN -oven_dry.mean / (100 - basis_moisture.mean) END,
    basis_moisture
FROM sheet_measurement.grammage
UNION ALL
SELECT
    sheet_id,
    'as_received',
    as_received,
    NULL,
    basis_moisture
FROM sheet_measurement.grammage
