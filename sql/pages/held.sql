-- Purpose: what is held of files in the inbox and what to do about it, whole files first, then the newest files;
--     where
--     one rule holds many lines of a file, they stand together with the first of them as the example.
-- Grain: One row per file, rule and column; whole files apart from lines.
-- Inputs: main.held_row, main.export_file
SELECT
    file.file_hash,
    file.file_name,
    file.received_night,
    held.line_number IS NULL AS whole_file,
    held.rule,
    held.column_name,
    count(DISTINCT held.line_number) AS n_lines,
    min(held.line_number) AS first_line,
    max(held.line_number) AS last_line,
    left(arg_min(coalesce(held.cell, held.original_text), (coalesce(held.line_number, 0), held.what)), 300)
        AS as_it_stood,
    arg_min(held.what, (coalesce(held.line_number, 0), held.what)) AS what,
    arg_min(held.remedy, (coalesce(held.line_number, 0), held.what)) AS remedy
FROM main.held_row AS held
INNER JOIN main.export_file AS file ON held.file_hash = file.file_hash
WHERE held.in_inbox
GROUP BY
    file.file_hash, file.file_name, file.received_night, held.line_number IS NULL, held.rule, held.column_name
ORDER BY
    whole_file DESC, file.received_night DESC, file.file_name, file.file_hash, first_line, held.rule, held.column_name
