-- Purpose: find the records that a later export has again on another sheet or in another direction, with the same
--     tester, time and values: their sheet number or direction was corrected, and both would count. A time at local
--     midnight is a date without a time of day. A time of whole minutes tells tests apart only together with four or
--     more numbers. A file that has both records tells them apart.
-- Grain: One row per record that is in a later export elsewhere.
-- Inputs: records.{kind}, ledger.received_file, main.setting. {kind} is the name of a kind of record, {time} its column
--     of times, {direction} its direction or NULL, {alike} its columns that must be the same and {numbers} how many
--     numbers a record has.
WITH dated AS (
    SELECT
        record.file_hash,
        record.line_number,
        record.record_key,
        record.sheet_id,
        {direction} AS direction,
        hash({alike}) AS alike,
        file.file_name,
        coalesce(file.exported_at_utc, file.changed_at_utc) AS exported_at_utc
    FROM records.{kind} AS record
    INNER JOIN ledger.received_file AS file ON record.file_hash = file.file_hash
    CROSS JOIN main.setting AS setting
    WHERE
        record.record_status = 'loaded'
        AND record.{time} <> date_trunc('day', (record.{time} AT TIME ZONE 'UTC') AT TIME ZONE setting.time_zone)
        AT TIME ZONE setting.time_zone AT TIME ZONE 'UTC'
        AND (second(record.{time}) <> 0 OR {numbers} >= 4)
)

SELECT DISTINCT ON (older.file_hash, older.record_key)
    older.file_hash,
    older.line_number,
    older.record_key,
    'A later export has the same test (tester, time and values) '
    || CASE
        WHEN older.sheet_id = newer.sheet_id THEN 'in the direction ' || newer.direction
        ELSE 'on sheet ' || newer.sheet_id
    END
    || ': ' || newer.file_name || ', line ' || newer.line_number || '. Only the later one counts.' AS what
FROM dated AS older
INNER JOIN dated AS newer
    ON
        older.alike = newer.alike
        AND older.record_key <> newer.record_key
        AND older.file_hash <> newer.file_hash
        AND older.exported_at_utc < newer.exported_at_utc
WHERE
    NOT EXISTS (
        SELECT 1
        FROM records.{kind} AS again
        WHERE
            (again.file_hash = newer.file_hash AND again.record_key = older.record_key)
            OR (again.file_hash = older.file_hash AND again.record_key = newer.record_key)
    )
ORDER BY older.file_hash, older.record_key, newer.exported_at_utc DESC, newer.line_number
