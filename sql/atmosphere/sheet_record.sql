-- Purpose: the records that count and name a sheet: tests, treatments and stays. A test piece with a result and a raw
--     curve is one record. timed_at_utc is missing where a time at local midnight is a date without a time of day.
-- Grain: One row per such record.
-- Inputs: every kind of record, tensile.curve_match, main.setting
WITH every_record AS (
    {every_record}
),

record AS (
    SELECT kind, record_key, sheet_id, tester, at_utc, file_hash, line_number, needs_atmosphere
    FROM every_record
    WHERE
        record_status = 'loaded'
        AND sheet_id IS NOT NULL
        AND kind NOT IN ('forming', 'tensile', 'tensile_curve')
    UNION ALL
    SELECT 'tensile', record_key, sheet_id, tester, tested_at_utc, file_hash, line_number, TRUE
    FROM tensile.curve_match
),

dated AS (
    SELECT
        record.*,
        (record.at_utc AT TIME ZONE 'UTC') AT TIME ZONE setting.time_zone AS at_local
    FROM record
    CROSS JOIN main.setting AS setting
)

SELECT
    * EXCLUDE (at_local),
    CASE WHEN at_local <> date_trunc('day', at_local) THEN at_utc END AS timed_at_utc
FROM dated
