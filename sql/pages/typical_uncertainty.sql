-- Purpose: the median standard uncertainty of each property, which sets the decimals of its columns on every page.
-- Grain: One row per table, direction and property.
-- Inputs: main.sheet_property, main.trial_point_property
SELECT
    'sheet' AS of_table,
    direction,
    property,
    quantile_disc(standard_uncertainty, 0.5) AS standard_uncertainty
FROM main.sheet_property
WHERE preferred AND assumption IS NULL AND standard_uncertainty IS NOT NULL
GROUP BY direction, property
UNION ALL
SELECT
    'trial_point' AS of_table,
    direction,
    property,
    quantile_disc(standard_uncertainty, 0.5) AS standard_uncertainty
FROM main.trial_point_property
WHERE preferred AND assumption IS NULL AND standard_uncertainty IS NOT NULL
GROUP BY direction, property
ORDER BY of_table, property, direction
