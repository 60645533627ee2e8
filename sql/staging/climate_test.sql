-- Purpose: the tests whose result depends on the air they were made in: conditioned weighings, oven-dry pairs (by
--     the mass before drying), thickness readings and tensile tests. A time at local midnight is a date without a
--     time of day.
-- Grain: One row per such record; pieces of a sheet whose raw curves share their lines are one.
-- Inputs: records.basis_weight, records.moisture, records.thickness, tensile_curve_match.tensile_piece, main.setting
WITH record AS (
    SELECT 'basis_weight' AS kind, sheet_id, file_hash, line_number, tested_at_utc
    FROM records.basis_weight
    WHERE record_status = 'loaded' AND state = 'conditioned'
    UNION ALL
    SELECT 'moisture', sheet_id, file_hash, line_number, tested_at_utc
    FROM records.moisture
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'thickness', sheet_id, file_hash, line_number, tested_at_utc
    FROM records.thickness
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT DISTINCT 'tensile', sheet_id, file_hash, line_number, tested_at_utc
    FROM tensile_curve_match.tensile_piece
),

dated AS (
    SELECT
        record.*,
        (record.tested_at_utc AT TIME ZONE 'UTC') AT TIME ZONE setting.time_zone AS tested_at_local
    FROM record
    CROSS JOIN main.setting AS setting
)

SELECT
    * EXCLUDE (tested_at_local),
    CASE WHEN tested_at_local <> date_trunc('day', tested_at_local) THEN tested_at_utc END AS timed_at_utc
FROM dated
