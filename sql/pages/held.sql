-- Purpose: the causes for which files or lines in the inbox are on hold, with what to do: whole files first, then
--     the causes with the most lines. The first line of the newest file is the example.
-- Grain: One row per rule, column and remedy that differs in more than its numbers; whole files apart from lines.
-- Inputs: main.held_row, main.export_file, main.night
WITH held AS (
    SELECT
        reason.*,
        run.run_no,
        reason.line_number IS NULL AS whole_file,
        reason.file_hash || ':' || coalesce(reason.line_number, 0) AS address,
        regexp_replace(reason.remedy, '[0-9]+', '#', 'g') AS wording
    FROM main.held_row AS reason
    INNER JOIN main.export_file AS file ON reason.file_hash = file.file_hash
    LEFT JOIN main.night AS run ON file.received_night = run.night
    WHERE reason.in_inbox
)

SELECT
    whole_file,
    rule,
    column_name,
    count(DISTINCT file_hash) AS n_files,
    count(DISTINCT address) AS n_held,
    min(line_number) AS first_line,
    max(line_number) AS last_line,
    list_distinct(list(file_name ORDER BY run_no DESC, file_name))[:4] AS file_names,
    first(file_name ORDER BY run_no DESC, file_name, file_hash, line_number, what) AS file_name,
    first(line_number ORDER BY run_no DESC, file_name, file_hash, line_number, what) AS line_number,
    left(
        first(original_text ORDER BY run_no DESC, file_name, file_hash, line_number, what), 300
    ) AS original_text,
    first(what ORDER BY run_no DESC, file_name, file_hash, line_number, what) AS what,
    first(remedy ORDER BY run_no DESC, file_name, file_hash, line_number, what) AS remedy
FROM held
GROUP BY whole_file, rule, column_name, wording
ORDER BY whole_file DESC, n_held DESC, rule, column_name, remedy
