-- Purpose: every file received, how its profile was matched, and the account of its lines.
-- Grain: One row per file, by its content.
-- Inputs: ledger.received_file, ledger.in_inbox, every kind of record
WITH record AS (
    {every_record}
),

-- A line of several records is on hold when one of them is; a curve has lines of its own.
line AS (
    SELECT
        file_hash,
        n_lines,
        CASE
            WHEN
                kind <> 'tensile_curve'
                AND bool_or(record_status = 'held') OVER (PARTITION BY file_hash, line_number)
                THEN 'held'
            ELSE record_status
        END AS record_status
    FROM record
),

record_status AS (
    SELECT
        file_hash,
        sum(n_lines) FILTER (WHERE record_status = 'loaded') AS loaded,
        sum(n_lines) FILTER (WHERE record_status = 'repeated') AS repeated,
        sum(n_lines) FILTER (WHERE record_status = 'superseded') AS superseded,
        sum(n_lines) FILTER (WHERE record_status = 'held') AS held
    FROM line
    GROUP BY file_hash
)

SELECT
    file.file_hash,
    file.file_name,
    file.record,
    file.profile,
    file.encoding,
    file.recognised_by,
    file.size_bytes,
    file.changed_at_utc,
    file.exported_at_utc,
    file.received_night,
    file.read_night,
    file.held_whole,
    inbox.file_hash IS NOT NULL AS in_inbox,
    file.remark,
    file.lines,
    file.preamble_lines,
    file.header_lines,
    file.units_row_lines,
    file.blank_lines,
    file.footer_lines,
    file.continuation_lines,
    coalesce(record_status.loaded, 0)::BIGINT AS loaded_rows,
    file.held_at_reading + coalesce(record_status.held, 0)::BIGINT AS held_lines,
    coalesce(record_status.repeated, 0)::BIGINT AS repeated_rows,
    coalesce(record_status.superseded, 0)::BIGINT AS superseded_rows
FROM ledger.received_file AS file
LEFT JOIN record_status ON file.file_hash = record_status.file_hash
LEFT JOIN ledger.in_inbox AS inbox ON file.file_hash = inbox.file_hash
