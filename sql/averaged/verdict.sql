-- Purpose: the worst verdict on the atmosphere of each sheet's tests that count in means, by what they measure.
-- Grain: One row per sheet with tests that depend on the air.
-- Inputs: indexed.tensile, judged.climate_test
WITH counted AS (
    SELECT sheet_id, direction AS measured, atmosphere_verdict AS verdict
    FROM indexed.tensile
    WHERE in_means
    UNION ALL BY NAME
    SELECT sheet_id, kind AS measured, verdict
    FROM judged.climate_test
    WHERE admitted AND kind <> 'tensile'
)

SELECT
    sheet_id,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measured = 'MD')) AS md,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measured = 'CD')) AS cd,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measured = 'basis_weight')) AS weighing,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measured = 'moisture')) AS moisture,
    worst_verdict(list(DISTINCT verdict) FILTER (WHERE measured = 'thickness')) AS thickness
FROM counted
GROUP BY sheet_id
