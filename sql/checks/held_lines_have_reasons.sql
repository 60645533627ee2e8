-- Must hold: every line on hold of a file that is not on hold as a whole has a reason, and every reason has its line.
--     A raw curve on hold has one reason for all its lines.
-- Grain: One row per file where they differ.
-- Inputs: main.export_file, main.held_row
WITH reasons AS (
    SELECT
        file_hash,
        count(DISTINCT line_number) AS lines
    FROM main.held_row
    WHERE line_number IS NOT NULL
    GROUP BY file_hash
)

SELECT
    file.file_name,
    file.held_lines,
    coalesce(reasons.lines, 0) AS lines_with_reasons
FROM main.export_file AS file
LEFT JOIN reasons ON file.file_hash = reasons.file_hash
WHERE
    NOT file.held_whole
    AND file.record IS DISTINCT FROM 'tensile_curve'
    AND file.held_lines <> coalesce(reasons.lines, 0)
