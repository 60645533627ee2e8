-- Purpose: means of the tests of each furnish. Different methods are never averaged together.
-- Grain: One row per furnish, property and method of test.
-- Inputs: records.stock
SELECT
    furnish,
    property,
    method,
    count(*) AS n,
    favg(value) AS value,
    any_value(unit) AS unit,
    stddev_samp(value) AS s,
    coefficient_of_variation_pct(stddev_samp(value), favg(value)) AS cv_pct
FROM records.stock
WHERE record_status = 'loaded'
GROUP BY furnish, property, method
