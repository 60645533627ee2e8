-- Purpose: the newest sheets.
-- Grain: One row per sheet; twelve at most.
-- Inputs: main.sheet
SELECT
    sheet_id,
    trial,
    trial_point,
    formed_at_utc,
    furnishes,
    jet_to_wire_ratio,
    grammage_g_m2,
    n_pieces_md + n_pieces_cd AS n_pieces,
    n_left_out_md + n_left_out_cd AS n_left_out
FROM main.sheet
ORDER BY formed_at_utc DESC NULLS LAST, sheet_id DESC
LIMIT 12
