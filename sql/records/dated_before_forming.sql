-- Purpose: find the loaded records of a kind that are dated before their sheet was formed. A time at local
--     midnight is a date without a time of day and is taken as the end of that day.
-- Grain: One row per record dated too early.
-- Inputs: records.{kind}, records.forming, main.setting. {kind} stands for the name of a kind of record and
--     {time} for its column of times.
WITH formed AS (
    SELECT
        sheet_id,
        min(formed_at_utc) AS formed_at_utc
    FROM records.forming
    WHERE record_status = 'loaded'
    GROUP BY sheet_id
),

dated AS (
    SELECT
        record.file_hash,
        record.line_number,
        record.sheet_id,
        record.{time} AS at_utc,
        (record.{time} AT TIME ZONE 'UTC') AT TIME ZONE setting.time_zone AS at_local
    FROM records.{kind} AS record
    CROSS JOIN main.setting AS setting
    WHERE record.record_status = 'loaded' AND record.{time} IS NOT NULL
)

SELECT
    dated.file_hash,
    dated.line_number,
    strftime(dated.at_utc, '%Y-%m-%d %H:%M') AS cell,
    'Dated ' || strftime(dated.at_utc, '%Y-%m-%d %H:%M') || ' UTC, but sheet ' || dated.sheet_id
    || ' was formed ' || strftime(formed.formed_at_utc, '%Y-%m-%d %H:%M') || ' UTC.' AS what
FROM dated
INNER JOIN formed ON dated.sheet_id = formed.sheet_id
WHERE
    dated.at_utc + CASE
        WHEN dated.at_local = date_trunc('day', dated.at_local) THEN INTERVAL 1 DAY
        ELSE INTERVAL 0 DAY
    END < formed.formed_at_utc
