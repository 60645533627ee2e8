-- Purpose: every test piece with its results, and whether it is in the means.
-- Grain: One row per tensile test piece.
-- Inputs: main.test_piece, main.sheet
SELECT
    piece.trial,
    piece.trial_point,
    piece.sheet_id,
    piece.direction,
    piece.specimen_no,
    piece.replicate_no,
    piece.in_means,
    piece.left_out_because,
    {piece_columns},
    dense_rank() OVER (
        PARTITION BY piece.trial ORDER BY sheet.formed_at_utc ASC NULLS LAST, piece.sheet_id ASC
    ) AS place
FROM main.test_piece AS piece
INNER JOIN main.sheet AS sheet ON piece.sheet_id = sheet.sheet_id
ORDER BY piece.trial, place, piece.direction DESC, piece.specimen_no, piece.replicate_no
