-- Purpose: find the loaded records of a kind that are dated before the forming of their sheet. A time at local
--     midnight is a date without a time of day and counts as the end of that day. Messages give local time.
-- Grain: One row per record dated too early.
-- Inputs: records.{kind}, records.forming, main.setting. {kind} is the name of a kind of record and {time} its column
--     of times.
WITH formed AS (
    SELECT
        forming.sheet_id,
        min(forming.formed_at_utc) AS formed_at_utc,
        (min(forming.formed_at_utc) AT TIME ZONE 'UTC') AT TIME ZONE any_value(setting.time_zone) AS formed_at_local
    FROM records.forming AS forming
    CROSS JOIN main.setting AS setting
    WHERE forming.record_status = 'loaded'
    GROUP BY forming.sheet_id
),

dated AS (
    SELECT
        record.file_hash,
        record.line_number,
        record.record_key,
        record.sheet_id,
        setting.time_zone,
        record.{time} AS at_utc,
        (record.{time} AT TIME ZONE 'UTC') AT TIME ZONE setting.time_zone AS at_local
    FROM records.{kind} AS record
    CROSS JOIN main.setting AS setting
    WHERE record.record_status = 'loaded' AND record.{time} IS NOT NULL
)

SELECT
    dated.file_hash,
    dated.line_number,
    dated.record_key,
    'The record is dated ' || strftime(dated.at_local, '%Y-%m-%d %H:%M') || ', before sheet ' || dated.sheet_id
    || ' was formed (' || strftime(formed.formed_at_local, '%Y-%m-%d %H:%M') || '; times in ' || dated.time_zone
    || ').' AS what
FROM dated
INNER JOIN formed ON dated.sheet_id = formed.sheet_id
WHERE
    dated.at_utc + CASE
        WHEN dated.at_local = date_trunc('day', dated.at_local) THEN INTERVAL 1 DAY
        ELSE INTERVAL 0 DAY
    END < formed.formed_at_utc
