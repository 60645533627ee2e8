-- Purpose: the properties that the laboratory's settings correct for moisture.
-- Grain: One row per corrected property.
-- Inputs: main.setting
WITH correction AS (
    SELECT
        unnest(string_split(corrected_properties, ',')) AS property,
        unnest(corrections_pct) AS change_pct,
        reference_moisture_pct
    FROM main.setting
    WHERE reference_moisture_pct IS NOT NULL
)

SELECT
    *,
    format(
        'changes by {:+g} % per point of moisture, taken to {:g} %: the laboratory''s own setting',
        change_pct,
        reference_moisture_pct
    ) AS assumption
FROM correction
