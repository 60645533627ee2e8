-- Purpose: the testers, with their readings, the first and last time, and the accuracy from the settings. A raw
--     curve counts as a reading only if the tester exported no result for the piece.
-- Grain: One row per tester and kind of record; testers with an accuracy and no readings are one row without a kind.
-- Inputs: records.basis_weight, records.moisture, records.thickness, records.tensile, records.further,
--     main.tensile_curve_result, main.tester_accuracy
WITH reading AS (
    SELECT 'basis_weight' AS kind, tester, sheet_id, tested_at_utc, TRUE AS is_reading
    FROM records.basis_weight
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'moisture', tester, sheet_id, tested_at_utc, TRUE
    FROM records.moisture
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'thickness', tester, sheet_id, tested_at_utc, TRUE
    FROM records.thickness
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'tensile', tester, sheet_id, tested_at_utc, TRUE
    FROM records.tensile
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'further', tester, sheet_id, tested_at_utc, TRUE
    FROM records.further
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT
        'tensile_curve',
        tester,
        sheet_id,
        tested_at_utc,
        coalesce(instrument_max_force_n, instrument_elongation_mm, instrument_energy_j, instrument_max_slope_n_mm)
        IS NULL
    FROM main.tensile_curve_result
),

counted AS (
    SELECT
        tester,
        kind,
        count(*) FILTER (WHERE is_reading) AS n_readings,
        count(*) FILTER (WHERE kind = 'tensile_curve') AS n_curves,
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
