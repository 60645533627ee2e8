-- Purpose: the trials, the newest first, with what came of them.
-- Grain: One row per trial.
-- Inputs: main.trial_point, main.sheet
WITH made AS (
    SELECT
        trial,
        count(*) AS n_points,
        sum(n_sheets)::BIGINT AS n_sheets,
        min(first_formed_at_utc) AS first_formed_at_utc,
        max(last_formed_at_utc) AS last_formed_at_utc
    FROM main.trial_point
    GROUP BY trial
),

tested AS (
    SELECT
        trial,
        count(*) FILTER (WHERE n_pieces_md + n_pieces_cd > 0)::BIGINT AS n_tested,
        sum(n_pieces_md + n_pieces_cd)::BIGINT AS n_pieces,
        sum(n_left_out_md + n_left_out_cd)::BIGINT AS n_left_out,
        string_agg(DISTINCT furnishes, '; ' ORDER BY furnishes) AS furnishes
    FROM main.sheet
    GROUP BY trial
)

SELECT
    made.*,
    tested.n_tested,
    tested.n_pieces,
    tested.n_left_out,
    tested.furnishes
FROM made
INNER JOIN tested ON made.trial = tested.trial
ORDER BY made.last_formed_at_utc DESC NULLS LAST, made.trial
