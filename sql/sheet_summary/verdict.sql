-- Purpose: the worst atmosphere verdict of each sheet's valid tests, by what they measure.
-- Grain: One row per sheet with tests that depend on the air.
-- Inputs: derived.tensile, atmosphere_compliance.climate_test
WITH counted AS (
    SELECT sheet_id, direction AS measurement, atmosphere_verdict AS verdict
    FROM derived.tensile
    WHERE in_means
    UNION ALL BY NAME
    SELECT sheet_id, kind AS measurement, verdict
    FROM atmosphere_compliance.climate_test
    WHERE admitted AND kind <> 'tensile'
)

SELECT
    sheet_id,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measurement = 'MD')) AS md,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measurement = 'CD')) AS cd,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measurement = 'basis_weight')) AS weighing,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measurement = 'moisture')) AS moisture,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measurement = 'thickness')) AS thickness
FROM counted
GROUP BY sheet_id
