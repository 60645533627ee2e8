-- Purpose: the testers, with what each of them read, when, and what the settings state of its accuracy.
-- Grain: One row per tester and kind of record; testers with an accuracy and no readings are one row without a kind.
-- Inputs: records.basis_weight, records.moisture, records.thickness, records.tensile, records.tensile_curve,
--     main.tester_accuracy
WITH reading AS (
    SELECT 'basis_weight' AS kind, tester, sheet_id, tested_at_utc
    FROM records.basis_weight
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'moisture', tester, sheet_id, tested_at_utc
    FROM records.moisture
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'thickness', tester, sheet_id, tested_at_utc
    FROM records.thickness
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'tensile', tester, sheet_id, tested_at_utc
    FROM records.tensile
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'tensile_curve', tester, sheet_id, tested_at_utc
    FROM records.tensile_curve
    WHERE record_status = 'loaded'
),

counted AS (
    SELECT
        tester,
        kind,
        count(*) AS n_readings,
        count(DISTINCT sheet_id) AS n_sheets,
        min(tested_at_utc) AS first_tested_at_utc,
        max(tested_at_utc) AS last_tested_at_utc,
        count(*) FILTER (WHERE tested_at_utc IS NULL) AS n_without_time
    FROM reading
    GROUP BY tester, kind
)

SELECT
    coalesce(counted.tester, accuracy.tester) AS tester,
    counted.* EXCLUDE (tester),
    accuracy.* EXCLUDE (tester)
FROM counted
FULL JOIN main.tester_accuracy AS accuracy ON counted.tester = accuracy.tester
ORDER BY coalesce(counted.tester, accuracy.tester), counted.kind
