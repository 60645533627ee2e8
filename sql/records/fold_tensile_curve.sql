-- Purpose: fold the points of curves into one record for each test piece and file, in the order of the export.
-- Grain: One row per test piece and file.
-- Inputs: batch, the validated points of some files. A line with points of several curves is in the account of
--     the first of them.
WITH points AS (
    SELECT
        *,
        coalesce(elongation_mm, strain_pct * span_mm / 100.0) AS elongation,
        row_number() OVER (PARTITION BY file_hash, line_number ORDER BY sheet_id, direction, specimen_no) AS place
    FROM batch
)

SELECT
    file_hash,
    min(line_number) AS line_number,
    tester,
    sheet_id,
    direction,
    specimen_no,
    replicate_no,
    tested_at_utc,
    width_mm,
    span_mm,
    list(elongation ORDER BY line_number) AS elongation_mm,
    list(force_n ORDER BY line_number) AS force_n,
    max(line_number) AS last_line_number,
    count(*) AS n_points,
    count(*) FILTER (WHERE place = 1) AS n_lines
FROM points
GROUP BY ALL
