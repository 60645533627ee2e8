-- Purpose: the preferred values of each sheet.
-- Grain: One row per sheet, direction and property.
-- Inputs: main.sheet_property
SELECT
    trial,
    trial_point,
    sheet_id,
    direction,
    property,
    unit,
    value,
    interval_low,
    interval_high,
    expanded_uncertainty
FROM main.sheet_property
WHERE preferred AND assumption IS NULL
ORDER BY trial, property, direction, sheet_id
