-- Purpose: the sheets of the forming log, with the values that all layers of a sheet share.
-- Grain: One row per sheet.
-- Inputs: records.forming, records.recipe
SELECT
    layer.sheet_id,
    min(layer.trial) AS trial,
    min(layer.trial_point) AS trial_point,
    count(*) AS n_layers,
    min(layer.formed_at_utc) AS formed_at_utc,
    coalesce(max(layer.target_grammage_g_m2), max(recipe.target_grammage_g_m2)) AS target_grammage_g_m2
FROM records.forming AS layer
LEFT JOIN records.recipe AS recipe
    ON layer.recipe = recipe.recipe
    AND layer.recipe_version = recipe.recipe_version
    AND recipe.record_status = 'loaded'
WHERE layer.record_status = 'loaded'
GROUP BY layer.sheet_id
