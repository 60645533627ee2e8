-- Purpose: the layers of all sheets with their forming conditions, the values computed from them and the set points
--     of the recipe.
-- Grain: One row per layer of a sheet.
-- Inputs: forming.layer
SELECT * EXCLUDE (forming_area_m2)
FROM forming.layer
