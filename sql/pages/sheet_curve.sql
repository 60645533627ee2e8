-- Purpose: raw tensile curves for drawing: force per width against stretch or, if any curve of the sheet lacks
--     width or span, force against elongation; from zero force and the end of the slack. At most some 120 points
--     per curve are kept, with the highest and the last. The points are numbers separated by spaces, because lists
--     of thousands of sheets are slow to fetch.
-- Grain: One row per raw tensile curve in use.
-- Inputs: records.tensile_curve, main.tensile_curve_result, main.test_piece
WITH curve AS (
    SELECT
        result.*,
        record.elongation_mm AS elongations_mm,
        record.force_n AS forces_n,
        coalesce(record.width_mm, piece.width_mm) AS width_mm,
        coalesce(record.span_mm, piece.span_mm) AS span_mm,
        coalesce(piece.in_means, FALSE) AS in_means,
        piece.left_out_because
    FROM main.tensile_curve_result AS result
    INNER JOIN records.tensile_curve AS record
        ON result.file_hash = record.file_hash
        AND result.line_number = record.line_number
        AND result.sheet_id = record.sheet_id
        AND result.direction = record.direction
        AND result.specimen_no = record.specimen_no
        AND result.replicate_no = coalesce(record.replicate_no, result.replicate_no)
        AND record.record_status = 'loaded'
    LEFT JOIN main.test_piece AS piece
        ON result.sheet_id = piece.sheet_id
        AND result.direction = piece.direction
        AND result.specimen_no = piece.specimen_no
        AND result.replicate_no = piece.replicate_no
),

scaled AS (
    SELECT
        *,
        bool_and(width_mm IS NOT NULL AND span_mm IS NOT NULL) OVER (PARTITION BY sheet_id) AS per_width,
        CASE WHEN per_width THEN 100 / span_mm ELSE 1 END AS x_factor,
        CASE WHEN per_width THEN 1 / width_mm ELSE 1 END AS y_factor,
        list_sort(list_distinct(list_concat(
            range(1, len(forces_n) + 1, ceil(len(forces_n) / 120)::BIGINT),
            [list_position(forces_n, list_max(forces_n)), len(forces_n)]
        ))) AS kept
    FROM curve
)

SELECT
    sheet_id,
    direction,
    specimen_no,
    replicate_no,
    per_width,
    in_means,
    left_out_because,
    usable,
    findings,
    disagreement,
    n_points,
    elongation_at_max_mm * x_factor AS max_x,
    max_force_n * y_factor AS max_y,
    array_to_string(
        [round((elongations_mm[place] - coalesce(slack_removed_mm, 0)) * x_factor, 4) FOR place IN kept], ' '
    ) AS x,
    array_to_string([round((forces_n[place] - coalesce(force_zero_n, 0)) * y_factor, 4) FOR place IN kept], ' ') AS y
FROM scaled
ORDER BY sheet_id, direction DESC, specimen_no, replicate_no
