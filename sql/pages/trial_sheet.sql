-- Purpose: the sheets of each trial in the order they were formed.
-- Grain: One row per sheet.
-- Inputs: main.sheet
SELECT
    trial,
    trial_point,
    sheet_id,
    formed_at_utc,
    jet_to_wire_ratio,
    grammage_g_m2,
    thickness_um,
    apparent_density_kg_m3,
    n_pieces_md + n_pieces_cd AS n_pieces,
    n_left_out_md + n_left_out_cd AS n_left_out,
    carry_over,
    row_number() OVER (PARTITION BY trial ORDER BY formed_at_utc ASC NULLS LAST, sheet_id ASC) AS place
FROM main.sheet
ORDER BY trial, place
