-- Must hold: a loaded tensile record is a test piece or an unmatched test, and only one of them.
-- Grain: One row if the counts disagree.
-- Inputs: records.tensile, main.test_piece, main.unmatched_test
WITH counted AS (
    SELECT
        (SELECT count(*) FROM records.tensile WHERE fate = 'loaded') AS n_records,
        (SELECT count(*) FROM main.test_piece) AS n_pieces,
        (SELECT count(*) FROM main.unmatched_test WHERE kind = 'tensile') AS n_unmatched
)

SELECT *
FROM counted
WHERE n_records <> n_pieces + n_unmatched
