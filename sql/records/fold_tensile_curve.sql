-- Purpose: fold the points of curves into one record for each test piece and file, in the order of the export.
-- Grain: One row per test piece and file.
-- Inputs: batch, the validated points of some files
WITH points AS (
    SELECT
        *,
        coalesce(elongation_mm, strain_pct * span_mm / 100.0) AS elongation
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
    sum(n_lines)::BIGINT AS n_lines
FROM points
GROUP BY ALL
