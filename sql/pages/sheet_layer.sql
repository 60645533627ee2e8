-- Purpose: how each layer of a sheet was formed, with the set points of its recipe and the deviations from them.
-- Grain: One row per layer of a sheet.
-- Inputs: main.layer
SELECT *
FROM main.layer
ORDER BY sheet_id, layer_no
