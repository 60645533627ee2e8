-- Purpose: tensile test pieces of known sheets, in and out of the means, with indices made with the sheet's mean
--     grammage and thickness.
-- Grain: One row per tensile test piece.
-- Inputs: tensile.piece, value.grammage, value.thickness, main.setting
WITH grammage AS (
    SELECT
        sheet_id,
        any_value(mean) FILTER (WHERE is_selected) AS grammage_g_m2,
        any_value(mean) FILTER (WHERE basis = 'conditioned') AS grammage_conditioned_g_m2,
        any_value(mean) FILTER (WHERE basis = 'oven_dry') AS grammage_oven_dry_g_m2,
        any_value(mean) FILTER (WHERE basis = 'as_received') AS grammage_as_received_g_m2
    FROM value.grammage
    GROUP BY sheet_id
),

with_sheet AS (
    SELECT
        piece.*,
        setting.grammage_basis,
        grammage.* EXCLUDE (sheet_id),
        setting.thickness_kind,
        thickness.mean AS thickness_um,
        thickness.pressure_kpa AS thickness_pressure_kpa
    FROM tensile.piece AS piece
    LEFT JOIN grammage ON piece.sheet_id = grammage.sheet_id
    LEFT JOIN value.thickness AS thickness ON piece.sheet_id = thickness.sheet_id AND thickness.is_selected
    CROSS JOIN main.setting AS setting
)

SELECT
    *,
    {made_piece_columns},
    apparent_density_kg_m3(grammage_g_m2, thickness_um) AS apparent_density_kg_m3
FROM with_sheet
