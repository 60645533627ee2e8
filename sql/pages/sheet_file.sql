-- Purpose: the files that records came from.
-- Grain: One row per file.
-- Inputs: main.export_file
SELECT
    file_hash,
    file_name,
    record,
    profile,
    encoding,
    recognised_by,
    changed_at_utc,
    received_night
FROM main.export_file
ORDER BY file_name, file_hash
