-- Purpose: all sheets, with or without tests: their forming, pressing, drying and properties, with indices on the
--     basis in the settings.
-- Grain: One row per sheet.
-- Inputs: staging.sheet, sheet_summary.forming, sheet_summary.pressing, sheet_summary.drying,
--     sheet_summary.piece_count, sheet_summary.tensile_property, sheet_measurement.grammage,
--     sheet_measurement.thickness, main.setting
WITH tensile AS (
    PIVOT (
        SELECT sheet_id, concat_ws('_', wide_name, suffix) AS wide_column, value
        FROM sheet_summary.tensile_property
        WHERE preferred
    )
    ON wide_column IN ({sheet_columns})
    USING max(value)
    GROUP BY sheet_id
)

SELECT
    sheet.*,
    forming.* EXCLUDE (sheet_id, forming_area_m2),
    pressing.* EXCLUDE (sheet_id),
    drying.* EXCLUDE (sheet_id),
    setting.grammage_basis,
    grammage.grammage_g_m2,
    grammage.conditioned.mean AS grammage_conditioned_g_m2,
    grammage.conditioned_derived AS grammage_conditioned_derived,
    grammage.oven_dry.mean AS grammage_oven_dry_g_m2,
    grammage.oven_dry_derived AS grammage_oven_dry_derived,
    grammage.as_received.mean AS grammage_as_received_g_m2,
    coalesce(grammage.selected_grammage.n_left_out, 0) AS n_left_out_grammage,
    grammage.moisture.mean AS moisture_pct,
    coalesce(grammage.moisture.n, 0) AS n_moisture,
    coalesce(grammage.moisture.n_left_out, 0) AS n_left_out_moisture,
    grammage.moisture_warning,
    grammage.moisture_origin,
    grammage.basis_moisture.mean AS basis_moisture_pct,
    apparent_retention_pct(grammage.oven_dry.mean, forming.forming_area_m2, forming.oven_dry_mass_g)
        AS retention_pct,
    thickness.single.mean AS thickness_um,
    thickness.single_pressure_kpa AS thickness_pressure_kpa,
    coalesce(thickness.single.n, 0) AS n_thickness,
    coalesce(thickness.single.n_left_out, 0) AS n_left_out_thickness,
    thickness.stack.mean AS thickness_stack_um,
    thickness.stack_pressure_kpa AS thickness_stack_pressure_kpa,
    coalesce(thickness.stack.n, 0) AS n_thickness_stack,
    coalesce(thickness.stack.n_left_out, 0) AS n_left_out_thickness_stack,
    setting.thickness_kind,
    apparent_density_kg_m3(grammage.grammage_g_m2, thickness.selected_thickness.mean) AS apparent_density_kg_m3,
    bulk_cm3_g(grammage.grammage_g_m2, thickness.selected_thickness.mean) AS bulk_cm3_g,
    setting.admitted_verdicts,
    coalesce(piece_count.n_pieces_md, 0) AS n_pieces_md,
    coalesce(piece_count.n_pieces_cd, 0) AS n_pieces_cd,
    coalesce(piece_count.n_left_out_md, 0) AS n_left_out_md,
    coalesce(piece_count.n_left_out_cd, 0) AS n_left_out_cd,
    tensile.* EXCLUDE (sheet_id)
FROM staging.sheet AS sheet
INNER JOIN sheet_summary.forming AS forming ON sheet.sheet_id = forming.sheet_id
LEFT JOIN sheet_summary.pressing AS pressing ON sheet.sheet_id = pressing.sheet_id
LEFT JOIN sheet_summary.drying AS drying ON sheet.sheet_id = drying.sheet_id
LEFT JOIN sheet_summary.piece_count AS piece_count ON sheet.sheet_id = piece_count.sheet_id
LEFT JOIN sheet_measurement.grammage AS grammage ON sheet.sheet_id = grammage.sheet_id
LEFT JOIN sheet_measurement.thickness AS thickness ON sheet.sheet_id = thickness.sheet_id
LEFT JOIN tensile ON sheet.sheet_id = tensile.sheet_id
CROSS JOIN main.setting AS setting
