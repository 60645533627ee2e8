-- Purpose: the layers of the forming log with the set points of their recipe, the values computed from the conditions
--     at which they were formed, and their furnish and the tank fill at that time.
-- Grain: One row per layer of a sheet.
-- Inputs: records.forming, records.recipe, forming.furnish, forming.tank_fill, main.setting
WITH logged AS (
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
),

sprayed AS (
    SELECT
        layer.* EXCLUDE (jet_speed_m_min, contraction_coefficient, spray_angle_deg),
        layer.jet_speed_m_min AS logged_jet_speed_m_min,
        coalesce(layer.contraction_coefficient, setting.contraction_coefficient) AS contraction_coefficient,
        coalesce(layer.spray_angle_deg, 0) AS spray_angle_deg,
        oven_dry_mass_g(layer.stock_volume_l, layer.consistency_pct, setting.stock_density_kg_m3) AS oven_dry_mass_g,
        setting.forming_length_mm * setting.forming_width_mm / 1e6 AS forming_area_m2,
        setting.drum_radius_mm
    FROM logged AS layer
    CROSS JOIN main.setting AS setting
),

jet AS (
    SELECT
        *,
        jet_speed_m_min(flow_rate_l_min, nozzle_orifice_mm, nozzle_count, contraction_coefficient)
            AS nozzle_jet_speed_m_min,
        coalesce(nozzle_jet_speed_m_min, logged_jet_speed_m_min) AS jet_speed_m_min,
        CASE
            WHEN nozzle_jet_speed_m_min IS NOT NULL THEN 'nozzle'
            WHEN logged_jet_speed_m_min IS NOT NULL THEN 'log'
        END AS jet_speed_origin,
        jet_to_wire_ratio(jet_speed_m_min, wire_speed_m_min, spray_angle_deg) AS jet_to_wire_ratio
    FROM sprayed
)

SELECT
    jet.* EXCLUDE (nozzle_jet_speed_m_min, logged_jet_speed_m_min, drum_radius_mm),
    rush_or_drag(jet.jet_to_wire_ratio) AS rush_or_drag,
    speed_difference_m_min(jet.jet_speed_m_min, jet.wire_speed_m_min, jet.spray_angle_deg) AS speed_difference_m_min,
    centrifugal_acceleration_m_s2(jet.wire_speed_m_min, jet.drum_radius_mm) AS centrifugal_acceleration_m_s2,
    predicted_grammage_g_m2(jet.oven_dry_mass_g, jet.forming_area_m2) AS predicted_grammage_g_m2,
    delivery_time_s(jet.stock_volume_l, jet.flow_rate_l_min) AS delivery_time_s,
    jet.wire_speed_m_min - jet.recipe_wire_speed_m_min AS wire_speed_deviation_m_min,
    jet.flow_rate_l_min - jet.recipe_flow_rate_l_min AS flow_rate_deviation_l_min,
    jet.jet_to_wire_ratio - jet.recipe_jet_to_wire_ratio AS jet_to_wire_ratio_deviation,
    jet.stock_volume_l - jet.recipe_stock_volume_l AS stock_volume_deviation_l,
    jet.nozzle_orifice_mm - jet.recipe_nozzle_orifice_mm AS nozzle_orifice_deviation_mm,
    jet.dewatering_time_s - jet.recipe_dewatering_time_s AS dewatering_time_deviation_s,
    jet.compaction_speed_m_min - jet.recipe_compaction_speed_m_min AS compaction_speed_deviation_m_min,
    fill.fill_no AS tank_fill_no,
    fill.furnish AS tank_furnish,
    jet.formed_at_utc >= fill.ended_at_utc AS tank_fill_had_ended,
    fill.carry_over,
    jet.furnish <> fill.furnish AS furnish_differs_from_tank,
    furnish.* EXCLUDE (furnish)
FROM jet
LEFT JOIN forming.furnish AS furnish ON jet.furnish = furnish.furnish
ASOF LEFT JOIN forming.tank_fill AS fill
    ON jet.tank = fill.tank
    AND jet.formed_at_utc >= fill.filled_at_utc
