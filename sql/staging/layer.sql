-- Purpose: the layers of the forming log, with the recipe that was called up and what the furnish was made
--     of.
-- Grain: One row per layer of a sheet.
-- Inputs: records.forming, records.recipe, records.furnish
WITH composition AS (
    SELECT
        furnish,
        string_agg(
            component || CASE
                WHEN share_pct IS NOT NULL THEN format(' {:g} %', share_pct)
                WHEN dose_kg_t IS NOT NULL THEN format(' {:g} kg/t', dose_kg_t)
                ELSE ''
            END,
            ', ' ORDER BY share_pct DESC NULLS LAST, component
        ) AS furnish_composition
    FROM records.furnish
    WHERE record_status = 'loaded'
    GROUP BY furnish
)

SELECT
    layer.* EXCLUDE (record_key, record_digest, record_status, superseded_by),
    composition.furnish_composition,
    recipe.wire_speed_m_min AS recipe_wire_speed_m_min,
    recipe.flow_rate_l_min AS recipe_flow_rate_l_min,
    recipe.jet_to_wire_ratio AS recipe_jet_to_wire_ratio,
    recipe.stock_volume_l AS recipe_stock_volume_l,
    recipe.nozzle_orifice_mm AS recipe_nozzle_orifice_mm,
    recipe.dewatering_time_s AS recipe_dewatering_time_s,
    recipe.compaction_speed_m_min AS recipe_compaction_speed_m_min
FROM records.forming AS layer
LEFT JOIN composition ON layer.furnish = composition.furnish
LEFT JOIN records.recipe AS recipe
    ON layer.recipe = recipe.recipe
    AND layer.recipe_version = recipe.recipe_version
    AND recipe.record_status = 'loaded'
WHERE layer.record_status = 'loaded'
