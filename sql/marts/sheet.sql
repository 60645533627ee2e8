-- Purpose: all sheets, with or without tests: their forming, pressing, drying and properties, with indices on the
--     basis in the settings.
-- Grain: One row per sheet.
-- Inputs: forming.sheet, forming.whole_sheet, forming.pressing, forming.drying, tensile.piece,
--     value.moisture, value.grammage, value.thickness, value.sheet_value, value.wide_column, main.setting
WITH directed AS (
    PIVOT (
        SELECT value.sheet_id, wide.value_column, value.value
        FROM value.sheet_value AS value
        INNER JOIN value.wide_column AS wide
            ON value.property = wide.property
            AND value.direction IS NOT DISTINCT FROM wide.direction
        WHERE value.preferred
    )
    ON value_column IN ({sheet_columns})
    USING max(value)
    GROUP BY sheet_id
),

grammage AS (
    SELECT
        sheet_id,
        any_value(mean) FILTER (WHERE is_selected) AS grammage_g_m2,
        any_value(n_left_out) FILTER (WHERE is_selected) AS n_left_out,
        any_value(mean) FILTER (WHERE basis = 'conditioned') AS grammage_conditioned_g_m2,
        any_value(derived) FILTER (WHERE basis = 'conditioned') AS grammage_conditioned_derived,
        any_value(mean) FILTER (WHERE basis = 'oven_dry') AS grammage_oven_dry_g_m2,
        any_value(derived) FILTER (WHERE basis = 'oven_dry') AS grammage_oven_dry_derived,
        any_value(mean) FILTER (WHERE basis = 'as_received') AS grammage_as_received_g_m2,
        bool_or(derived) AS is_derived
    FROM value.grammage
    GROUP BY sheet_id
),

piece_count AS (
    SELECT
        sheet_id,
        count(*) FILTER (WHERE direction = 'MD' AND in_means) AS n_pieces_md,
        count(*) FILTER (WHERE direction = 'CD' AND in_means) AS n_pieces_cd,
        count(*) FILTER (WHERE direction = 'MD' AND NOT in_means) AS n_left_out_md,
        count(*) FILTER (WHERE direction = 'CD' AND NOT in_means) AS n_left_out_cd
    FROM tensile.piece
    GROUP BY sheet_id
)

SELECT
    sheet.*,
    forming.* EXCLUDE (sheet_id, forming_area_m2),
    pressing.* EXCLUDE (sheet_id),
    drying.* EXCLUDE (sheet_id),
    setting.grammage_basis,
    grammage.* EXCLUDE (sheet_id, n_left_out, is_derived),
    coalesce(grammage.n_left_out, 0) AS n_left_out_grammage,
    moisture.mean AS moisture_pct,
    coalesce(moisture.n, 0) AS n_moisture,
    coalesce(moisture.n_left_out, 0) AS n_left_out_moisture,
    moisture.warning AS moisture_warning,
    CASE WHEN grammage.is_derived THEN moisture.origin END AS moisture_origin,
    CASE WHEN grammage.is_derived THEN moisture.basis_mean END AS basis_moisture_pct,
    apparent_retention_pct(grammage.grammage_oven_dry_g_m2, forming.forming_area_m2, forming.oven_dry_mass_g)
        AS retention_pct,
    single.mean AS thickness_um,
    single.pressure_kpa AS thickness_pressure_kpa,
    coalesce(single.n, 0) AS n_thickness,
    coalesce(single.n_left_out, 0) AS n_left_out_thickness,
    stack.mean AS thickness_stack_um,
    stack.pressure_kpa AS thickness_stack_pressure_kpa,
    coalesce(stack.n, 0) AS n_thickness_stack,
    coalesce(stack.n_left_out, 0) AS n_left_out_thickness_stack,
    setting.thickness_kind,
    apparent_density_kg_m3(grammage.grammage_g_m2, selected.mean) AS apparent_density_kg_m3,
    bulk_cm3_g(grammage.grammage_g_m2, selected.mean) AS bulk_cm3_g,
    setting.admitted_verdicts,
    coalesce(piece_count.n_pieces_md, 0) AS n_pieces_md,
    coalesce(piece_count.n_pieces_cd, 0) AS n_pieces_cd,
    coalesce(piece_count.n_left_out_md, 0) AS n_left_out_md,
    coalesce(piece_count.n_left_out_cd, 0) AS n_left_out_cd,
    directed.* EXCLUDE (sheet_id)
FROM forming.sheet AS sheet
INNER JOIN forming.whole_sheet AS forming ON sheet.sheet_id = forming.sheet_id
LEFT JOIN forming.pressing AS pressing ON sheet.sheet_id = pressing.sheet_id
LEFT JOIN forming.drying AS drying ON sheet.sheet_id = drying.sheet_id
LEFT JOIN piece_count ON sheet.sheet_id = piece_count.sheet_id
LEFT JOIN grammage ON sheet.sheet_id = grammage.sheet_id
LEFT JOIN value.moisture AS moisture ON sheet.sheet_id = moisture.sheet_id
LEFT JOIN value.thickness AS single ON sheet.sheet_id = single.sheet_id AND single.property = 'thickness'
LEFT JOIN value.thickness AS stack ON sheet.sheet_id = stack.sheet_id AND stack.property = 'thickness_stack'
LEFT JOIN value.thickness AS selected ON sheet.sheet_id = selected.sheet_id AND selected.is_selected
LEFT JOIN directed ON sheet.sheet_id = directed.sheet_id
CROSS JOIN main.setting AS setting
