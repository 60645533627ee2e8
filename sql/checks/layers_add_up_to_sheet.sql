-- Must hold: the number of layers and the oven-dry mass of a sheet agree with its rows in layer, to 1e-9.
-- Grain: One row per sheet that breaks it.
-- Inputs: main.sheet, main.layer
SELECT
    sheet.sheet_id,
    sheet.n_layers,
    sheet.oven_dry_mass_g,
    count(layer.layer_no) AS n_layers_found,
    sum(layer.oven_dry_mass_g) AS layers_oven_dry_mass_g
FROM main.sheet AS sheet
LEFT JOIN main.layer AS layer ON sheet.sheet_id = layer.sheet_id
GROUP BY sheet.sheet_id, sheet.n_layers, sheet.oven_dry_mass_g
HAVING
    sheet.n_layers <> count(layer.layer_no)
    OR (sheet.oven_dry_mass_g IS NULL) <> (count(layer.oven_dry_mass_g) < count(*))
    OR abs(sheet.oven_dry_mass_g - sum(layer.oven_dry_mass_g)) > 1e-9 * sheet.oven_dry_mass_g
