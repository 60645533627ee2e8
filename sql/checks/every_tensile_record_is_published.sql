-- Must hold: every tensile test piece of a known sheet is published, and no other.
-- Grain: One row if the counts disagree.
-- Inputs: tensile_curve_match.tensile_piece, staging.sheet, main.test_piece
WITH counted AS (
    SELECT
        (
            SELECT count(*)
            FROM tensile_curve_match.tensile_piece AS piece
            INNER JOIN staging.sheet AS sheet ON piece.sheet_id = sheet.sheet_id
        ) AS n_pieces,
        (SELECT count(*) FROM main.test_piece) AS n_published
)

SELECT *
FROM counted
WHERE n_pieces <> n_published
