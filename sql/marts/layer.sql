-- Purpose: the layers of all sheets with their forming conditions, what follows from them and the recipe's
--     set points.
-- Grain: One row per layer of a sheet.
-- Inputs: derived.layer
SELECT * EXCLUDE (forming_area_m2)
FROM derived.layer
