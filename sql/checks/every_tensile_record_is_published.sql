-- Must hold: every tensile test piece of a known sheet is published, and no other.
-- Grain: One row if the counts disagree.
-- Inputs: tensile.curve_match, forming.sheet, main.test_piece
WITH counted AS (
    SELECT
        (
            SELECT count(*)
            FROM tensile.curve_match AS piece
            INNER JOIN forming.sheet AS sheet ON piece.sheet_id = sheet.sheet_id
        ) AS n_pieces,
        (SELECT count(*) FROM main.test_piece) AS n_published
)

SELECT *
FROM counted
WHERE n_pieces <> n_published
