-- Purpose: all sheets with the columns of the table of all sheets, the newest first.
-- Grain: One row per sheet.
-- Inputs: main.sheet
SELECT
    sheet_id,
    trial,
    trial_point,
    formed_at_utc,
    furnishes,
    n_layers,
    wire_speed_m_min,
    jet_to_wire_ratio,
    highest_line_load_kn_m,
    drying_restraints,
    target_grammage_g_m2,
    grammage_g_m2,
    moisture_pct,
    thickness_um,
    apparent_density_kg_m3,
    tensile_index_md_nm_g,
    tensile_index_cd_nm_g,
    tensile_index_md_cd_ratio,
    stretch_md_pct,
    stretch_cd_pct,
    stretch_md_cd_ratio,
    tea_index_md_j_g,
    tea_index_cd_j_g,
    tea_index_md_cd_ratio,
    tensile_stiffness_index_md_knm_g,
    tensile_stiffness_index_cd_knm_g,
    tensile_stiffness_index_md_cd_ratio,
    elastic_modulus_md_gpa,
    elastic_modulus_cd_gpa,
    elastic_modulus_md_cd_ratio,
    n_pieces_md + n_pieces_cd AS n_pieces,
    n_left_out_md + n_left_out_cd AS n_left_out,
    nullif(concat_ws(
        '; ',
        CASE WHEN carry_over THEN 'carry-over' END,
        CASE WHEN furnish_differs_from_tank THEN 'furnish differs from the tank log' END,
        CASE
            WHEN n_pieces_md + n_pieces_cd > 0 THEN NULL
            WHEN n_left_out_md + n_left_out_cd > 0 THEN 'no valid tensile tests'
            ELSE 'no tensile tests'
        END
    ), '') AS remarks,
    row_number() OVER (ORDER BY formed_at_utc DESC NULLS LAST, sheet_id ASC) AS place
FROM main.sheet
ORDER BY place
