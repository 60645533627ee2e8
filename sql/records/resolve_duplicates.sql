-- Purpose: set the status of the records of a kind where it changed. Among records with one key, in the order in which
--     their files were exported (by the file's own time, else its modification time): a record with the same values as
--     the one before repeats it; a record followed by other values is superseded; the last values count.
-- Grain: One row per record whose status changed, changed in place.
-- Inputs: records.{kind}, ledger.received_file. {kind} is the name of a kind of record.
UPDATE records.{kind} AS record
SET record_status = resolved.record_status, superseded_by = resolved.superseded_by
FROM (
    WITH in_order AS (
        SELECT
            record.rowid AS row_id,
            record.record_key,
            record.record_status AS status_before,
            record.superseded_by AS superseded_by_before,
            record.file_hash || ':' || record.line_number AS address,
            coalesce(lag(record.record_digest) OVER newest_last = record.record_digest, FALSE) AS repeats,
            row_number() OVER newest_last AS place
        FROM records.{kind} AS record
        INNER JOIN ledger.received_file AS file ON record.file_hash = file.file_hash
        WINDOW newest_last AS (
            PARTITION BY record.record_key
            ORDER BY
                coalesce(file.exported_at_utc, file.changed_at_utc),
                file.file_name,
                record.file_hash,
                record.line_number
        )
    ),

    followed AS (
        SELECT
            *,
            lead(CASE WHEN repeats THEN NULL ELSE address END IGNORE NULLS) OVER (
                PARTITION BY record_key
                ORDER BY place
            ) AS next_address
        FROM in_order
    ),

    statuses AS (
        SELECT
            row_id,
            status_before,
            superseded_by_before,
            CASE
                WHEN repeats THEN 'repeated'
                WHEN next_address IS NOT NULL THEN 'superseded'
                ELSE 'loaded'
            END AS record_status,
            CASE WHEN NOT repeats THEN next_address END AS superseded_by
        FROM followed
    )

    SELECT row_id, record_status, superseded_by
    FROM statuses
    WHERE record_status <> status_before OR superseded_by IS DISTINCT FROM superseded_by_before
) AS resolved
WHERE record.rowid = resolved.row_id
