-- Must hold: a tensile test piece of a known sheet is published, and none other is.
-- Grain: One row if the counts disagree.
-- Inputs: paired.tensile_piece, joined.sheet, main.test_piece
WITH counted AS (
    SELECT
        (
            SELECT count(*)
            FROM paired.tensile_piece AS piece
            INNER JOIN joined.sheet AS sheet ON piece.sheet_id = sheet.sheet_id
        ) AS n_pieces,
        (SELECT count(*) FROM main.test_piece) AS n_published
)

SELECT *
FROM counted
WHERE n_pieces <> n_published
