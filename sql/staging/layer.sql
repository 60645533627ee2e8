-- Purpose: the layers of the forming log, with the set points of the recipe used.
-- Grain: One row per layer of a sheet.
-- Inputs: records.forming, records.recipe
SELECT
    layer.* EXCLUDE (record_key, record_digest, n_lines, record_status, superseded_by),
    recipe.wire_speed_m_min AS recipe_wire_speed_m_min,
    recipe.flow_rate_l_min AS recipe_flow_rate_l_min,
    recipe.jet_to_wire_ratio AS recipe_jet_to_wire_ratio,
    recipe.stock_volume_l AS recipe_stock_volume_l,
    recipe.nozzle_orifice_mm AS recipe_nozzle_orifice_mm,
    recipe.dewatering_time_s AS recipe_dewatering_time_s,
    recipe.compaction_speed_m_min AS recipe_compaction_speed_m_min
FROM records.forming AS layer
LEFT JOIN records.recipe AS recipe
    ON layer.recipe = recipe.recipe
    AND layer.recipe_version = recipe.recipe_version
    AND recipe.record_status = 'loaded'
WHERE layer.record_status = 'loaded'
