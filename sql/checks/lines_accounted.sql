-- Must hold: every line of every file is in exactly one account.
-- Grain: One row per file whose account does not add up.
-- Inputs: main.export_file
SELECT
    file_name,
    lines,
    preamble_lines + header_lines + units_row_lines + blank_lines + footer_lines + continuation_lines
    + loaded_rows + held_lines + repeated_rows + superseded_rows AS accounted
FROM main.export_file
WHERE lines <> accounted
