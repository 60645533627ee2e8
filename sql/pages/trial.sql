-- Purpose: the trials with their sheets, tests and furnishes, the newest first.
-- Grain: One row per trial.
-- Inputs: main.sheet
SELECT
    sheet.trial,
    count(DISTINCT sheet.trial_point) AS n_points,
    count(*) AS n_sheets,
    count(*) FILTER (WHERE sheet.n_pieces_md + sheet.n_pieces_cd > 0) AS n_tested,
    sum(sheet.n_left_out_md + sheet.n_left_out_cd)::BIGINT AS n_left_out,
    min(sheet.formed_at_utc) AS first_formed_at_utc,
    max(sheet.formed_at_utc) AS last_formed_at_utc,
    min(sheet.jet_to_wire_ratio) AS lowest_jet_to_wire_ratio,
    max(sheet.jet_to_wire_ratio) AS highest_jet_to_wire_ratio,
    list(DISTINCT sheet.furnishes ORDER BY sheet.furnishes) AS furnishes
FROM main.sheet AS sheet
GROUP BY sheet.trial
ORDER BY last_formed_at_utc DESC NULLS LAST, sheet.trial
