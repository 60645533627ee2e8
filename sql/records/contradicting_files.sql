-- Purpose: find the records of a kind that files of equal time contradict: nothing shows which of them is newer. Times
--     that files give themselves are equal when they are the same; file systems keep times to two seconds (from
--     memory), and a copy may have lost them.
-- Grain: One row per record that another contradicts.
-- Inputs: records.{kind}, ledger.received_file. {kind} is the name of a kind of record.
WITH dated AS (
    SELECT
        record.file_hash,
        record.line_number,
        record.record_key,
        record.record_digest,
        record.record_status,
        file.file_name,
        file.exported_at_utc,
        coalesce(file.exported_at_utc, file.changed_at_utc) AS at_utc
    FROM records.{kind} AS record
    INNER JOIN ledger.received_file AS file ON record.file_hash = file.file_hash
    WHERE record.record_key IN (
        SELECT contradicted.record_key FROM records.{kind} AS contradicted WHERE contradicted.superseded_by IS NOT NULL
    )
),

newest AS (
    SELECT
        record_key,
        record_digest,
        max(at_utc) AS at_utc,
        arg_max(exported_at_utc IS NOT NULL, at_utc) AS is_exported
    FROM dated
    GROUP BY record_key, record_digest
    HAVING bool_or(record_status = 'loaded')
),

equal AS (
    SELECT
        dated.*,
        dated.record_digest = newest.record_digest AS is_newest
    FROM dated
    INNER JOIN newest ON dated.record_key = newest.record_key
    WHERE
        dated.record_status = 'loaded'
        OR epoch(newest.at_utc) - epoch(dated.at_utc)
        <= CASE WHEN newest.is_exported AND dated.exported_at_utc IS NOT NULL THEN 0 ELSE 2 END
)

SELECT DISTINCT ON (held.file_hash, held.record_key)
    held.file_hash,
    held.line_number,
    held.record_key,
    'Line ' || other.line_number || ' of ' || other.file_name || ' gives other values for the same measurement, and '
    || 'the two files have the same time (' || strftime(held.at_utc, '%Y-%m-%d %H:%M:%S') || ' UTC).' AS what
FROM equal AS held
INNER JOIN equal AS other
    ON
        held.record_key = other.record_key
        AND held.is_newest <> other.is_newest
ORDER BY held.file_hash, held.record_key, other.file_name, other.line_number
