-- Purpose: the values of each sheet that wide tables show, beside what charts set them against.
-- Grain: One row per sheet, direction and property.
-- Inputs: main.sheet_property, main.sheet
SELECT
    value.trial,
    value.trial_point,
    value.sheet_id,
    value.direction,
    value.property,
    value.n,
    value.value,
    value.interval_low,
    value.interval_high,
    sheet.jet_to_wire_ratio,
    sheet.apparent_density_kg_m3,
    row_number() OVER (
        PARTITION BY value.trial, value.direction, value.property
        ORDER BY sheet.formed_at_utc ASC NULLS LAST, value.sheet_id ASC
    ) AS place
FROM main.sheet_property AS value
INNER JOIN main.sheet AS sheet ON value.sheet_id = sheet.sheet_id
WHERE value.preferred AND value.assumption IS NULL
ORDER BY value.trial, value.property, value.direction, place
