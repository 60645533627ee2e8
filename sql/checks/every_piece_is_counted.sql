-- Must hold: a sheet's test pieces in the means and left out add up to all its test pieces.
-- Grain: One row per sheet that breaks it.
-- Inputs: main.sheet, tensile.curve_match
SELECT
    sheet.sheet_id,
    sheet.n_pieces_md + sheet.n_pieces_cd + sheet.n_left_out_md + sheet.n_left_out_cd AS n_counted,
    count(piece.sheet_id) AS n_records
FROM main.sheet AS sheet
LEFT JOIN tensile.curve_match AS piece ON sheet.sheet_id = piece.sheet_id
GROUP BY sheet.sheet_id, n_counted
HAVING n_counted <> count(piece.sheet_id)
