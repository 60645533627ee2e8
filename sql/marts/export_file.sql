-- Purpose: every file received, how its profile was matched, and the account of its lines.
-- Grain: One row per file, by its content.
-- Inputs: ledger.received_file, ledger.in_inbox, staging.record_status_count
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
    coalesce(record_status.loaded, 0) AS loaded_rows,
    file.held_at_reading + coalesce(record_status.held, 0) AS held_lines,
    coalesce(record_status.repeated, 0) AS repeated_rows,
    coalesce(record_status.superseded, 0) AS superseded_rows
FROM ledger.received_file AS file
LEFT JOIN staging.record_status_count AS record_status ON file.file_hash = record_status.file_hash
LEFT JOIN ledger.in_inbox AS inbox ON file.file_hash = inbox.file_hash
