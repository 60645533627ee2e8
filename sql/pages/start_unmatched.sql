-- Purpose: the sheet numbers in files of the inbox that are in no forming log, with their results.
-- Grain: One row per sheet number.
-- Inputs: main.unmatched_test, main.export_file
SELECT
    test.sheet_id,
    count(*) AS n_records,
    string_agg(DISTINCT test.kind, ', ' ORDER BY test.kind) AS kinds,
    arg_min(file.file_name, (file.received_night, file.file_name, test.line_number)) AS first_file_name,
    arg_min(test.line_number, (file.received_night, file.file_name, test.line_number)) AS first_line,
    min(test.suggested_sheet_id) AS suggested_sheet_id,
    min(test.suggestion_reason) AS suggestion_reason
FROM main.unmatched_test AS test
INNER JOIN main.export_file AS file ON test.file_hash = file.file_hash
WHERE file.in_inbox
GROUP BY test.sheet_id
ORDER BY max(file.received_night) DESC, test.sheet_id
