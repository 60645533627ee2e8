-- Purpose: the number of tensile test pieces of each sheet in the means and left out.
-- Grain: One row per sheet with tensile tests.
-- Inputs: derived.tensile
SELECT
    sheet_id,
    count(*) FILTER (WHERE direction = 'MD' AND in_means) AS n_pieces_md,
    count(*) FILTER (WHERE direction = 'CD' AND in_means) AS n_pieces_cd,
    count(*) FILTER (WHERE direction = 'MD' AND NOT in_means) AS n_left_out_md,
    count(*) FILTER (WHERE direction = 'CD' AND NOT in_means) AS n_left_out_cd
FROM derived.tensile
GROUP BY sheet_id
