-- Purpose: the instrument error of each sheet's tensile results from the stated accuracies of the testers, as
--     relative standard uncertainties of the measured quantities. They do not decrease with the number of pieces.
--     With several testers in one mean the largest counts. GM and MD/CD have the uncertainty of the square root of
--     the product and of the ratio.
-- Grain: One row per sheet with tensile tests that count, and direction: MD, CD, GM or MD/CD.
-- Inputs: tensile.piece, main.tester_accuracy
WITH per_direction AS (
    SELECT
        piece.sheet_id,
        piece.direction,
        list(DISTINCT piece.tester ORDER BY piece.tester) AS testers,
        standard_uncertainty(max(accuracy.force_pct) / 100) AS force,
        standard_uncertainty(max(accuracy.elongation_mm))
        / favg(coalesce(piece.elongation_mm, piece.stretch_pct / 100 * piece.span_mm)) AS elongation,
        standard_uncertainty(max(accuracy.width_mm)) / favg(piece.width_mm) AS width,
        standard_uncertainty(max(accuracy.span_mm)) / favg(piece.span_mm) AS span
    FROM tensile.piece AS piece
    LEFT JOIN main.tester_accuracy AS accuracy ON piece.tester = accuracy.tester
    WHERE piece.in_means
    GROUP BY piece.sheet_id, piece.direction
),

both_directions AS (
    SELECT
        md.sheet_id,
        md,
        cd,
        md.testers = cd.testers AS same_testers
    FROM per_direction AS md
    INNER JOIN per_direction AS cd ON md.sheet_id = cd.sheet_id
    WHERE md.direction = 'MD' AND cd.direction = 'CD'
)

SELECT * EXCLUDE (testers)
FROM per_direction
UNION ALL
SELECT
    sheet_id,
    'GM',
    error_of_both_directions(md.force, cd.force, 1, same_testers) / 2,
    error_of_both_directions(md.elongation, cd.elongation, 1, same_testers) / 2,
    error_of_both_directions(md.width, cd.width, 1, same_testers) / 2,
    error_of_both_directions(md.span, cd.span, 1, same_testers) / 2
FROM both_directions
UNION ALL
SELECT
    sheet_id,
    'MD/CD',
    error_of_both_directions(md.force, cd.force, -1, same_testers),
    error_of_both_directions(md.elongation, cd.elongation, -1, same_testers),
    error_of_both_directions(md.width, cd.width, -1, same_testers),
    error_of_both_directions(md.span, cd.span, -1, same_testers)
FROM both_directions
