-- Purpose: the number of files and lines on hold by rule and kind of record. A file on hold as a whole counts
--     once; an entry is closed if its file is no longer in the inbox.
-- Grain: One row per rule, kind of record, and whether it is closed.
-- Inputs: main.held_row, main.export_file
SELECT
    held.rule,
    coalesce(file.record, 'unknown kind') AS record,
    NOT held.in_inbox AS closed,
    count(DISTINCT held.file_hash || ':' || coalesce(held.line_number, 0)) AS n_held,
    count(DISTINCT held.file_hash) FILTER (WHERE held.line_number IS NULL) AS n_whole_files,
    count(DISTINCT held.file_hash) AS n_files
FROM main.held_row AS held
INNER JOIN main.export_file AS file ON held.file_hash = file.file_hash
GROUP BY held.rule, coalesce(file.record, 'unknown kind'), held.in_inbox
ORDER BY held.rule, record, closed
