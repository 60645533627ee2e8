-- Purpose: set the status of the received rows of a kind. Among rows with one key, in the order in which their files
--     were exported (by the file's own time, else its modification time): a row with the same values as the row before repeats it; a row followed by other values is
--     superseded; the last values count.
-- Grain: One row per received row.
-- Inputs: received.{kind}, ledger.received_file. {kind} is the name of a kind of record.
WITH in_order AS (
    SELECT
        record.*,
        record.file_hash || ':' || record.line_number AS address,
        coalesce(lag(record.record_digest) OVER newest_last = record.record_digest, FALSE) AS repeats,
        row_number() OVER newest_last AS place
    FROM received.{kind} AS record
    INNER JOIN ledger.received_file AS file ON record.file_hash = file.file_hash
    WINDOW newest_last AS (
        PARTITION BY record.record_key
        ORDER BY coalesce(file.exported_at_utc, file.changed_at_utc), file.file_name, record.file_hash, record.line_number
    )
),

followed AS (
    SELECT
        in_order.*,
        lead(CASE WHEN repeats THEN NULL ELSE address END IGNORE NULLS) OVER (
            PARTITION BY record_key
            ORDER BY place
        ) AS next_address
    FROM in_order
)

SELECT
    followed.* EXCLUDE (address, repeats, place, next_address),
    CASE
        WHEN repeats THEN 'repeated'
        WHEN next_address IS NOT NULL THEN 'superseded'
        ELSE 'loaded'
    END AS record_status,
    CASE WHEN NOT repeats THEN next_address END AS superseded_by
FROM followed
