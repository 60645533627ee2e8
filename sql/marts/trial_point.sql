-- Purpose: the trial points: mean forming conditions, mean properties and their spread between sheets,
--     indices on the basis that the settings choose.
-- Grain: One row per trial point.
-- Inputs: trial_point_summary.forming, trial_point_summary.property, main.setting
WITH named AS (
    SELECT trial, trial_point, concat_ws('_', wide_name, suffix) AS wide_column, value
    FROM trial_point_summary.property
    WHERE preferred
    UNION ALL
    SELECT trial, trial_point, concat_ws('_', wide_name, 's', suffix), s
    FROM trial_point_summary.property
    WHERE preferred
),

properties AS (
    PIVOT named
    ON wide_column IN (
            'grammage_g_m2', 'grammage_s_g_m2',
            'moisture_pct', 'moisture_s_pct',
            'thickness_um', 'thickness_s_um',
            'thickness_stack_um', 'thickness_stack_s_um',
            'apparent_density_kg_m3', 'apparent_density_s_kg_m3',
            'bulk_cm3_g', 'bulk_s_cm3_g',
            'tensile_strength_md_kn_m', 'tensile_strength_md_s_kn_m',
            'tensile_strength_cd_kn_m', 'tensile_strength_cd_s_kn_m',
            'tensile_strength_geometric_mean_kn_m', 'tensile_strength_geometric_mean_s_kn_m',
            'tensile_strength_md_cd_ratio', 'tensile_strength_md_cd_ratio_s',
            'tensile_index_md_nm_g', 'tensile_index_md_s_nm_g',
            'tensile_index_cd_nm_g', 'tensile_index_cd_s_nm_g',
            'tensile_index_geometric_mean_nm_g', 'tensile_index_geometric_mean_s_nm_g',
            'tensile_index_md_cd_ratio', 'tensile_index_md_cd_ratio_s',
            'breaking_length_md_km', 'breaking_length_md_s_km',
            'breaking_length_cd_km', 'breaking_length_cd_s_km',
            'breaking_length_geometric_mean_km', 'breaking_length_geometric_mean_s_km',
            'breaking_length_md_cd_ratio', 'breaking_length_md_cd_ratio_s',
            'stretch_md_pct', 'stretch_md_s_pct',
            'stretch_cd_pct', 'stretch_cd_s_pct',
            'stretch_geometric_mean_pct', 'stretch_geometric_mean_s_pct',
            'stretch_md_cd_ratio', 'stretch_md_cd_ratio_s',
            'tea_md_j_m2', 'tea_md_s_j_m2',
            'tea_cd_j_m2', 'tea_cd_s_j_m2',
            'tea_geometric_mean_j_m2', 'tea_geometric_mean_s_j_m2',
            'tea_md_cd_ratio', 'tea_md_cd_ratio_s',
            'tea_index_md_j_g', 'tea_index_md_s_j_g',
            'tea_index_cd_j_g', 'tea_index_cd_s_j_g',
            'tea_index_geometric_mean_j_g', 'tea_index_geometric_mean_s_j_g',
            'tea_index_md_cd_ratio', 'tea_index_md_cd_ratio_s',
            'tensile_stiffness_md_kn_m', 'tensile_stiffness_md_s_kn_m',
            'tensile_stiffness_cd_kn_m', 'tensile_stiffness_cd_s_kn_m',
            'tensile_stiffness_geometric_mean_kn_m', 'tensile_stiffness_geometric_mean_s_kn_m',
            'tensile_stiffness_md_cd_ratio', 'tensile_stiffness_md_cd_ratio_s',
            'tensile_stiffness_index_md_knm_g', 'tensile_stiffness_index_md_s_knm_g',
            'tensile_stiffness_index_cd_knm_g', 'tensile_stiffness_index_cd_s_knm_g',
            'tensile_stiffness_index_geometric_mean_knm_g', 'tensile_stiffness_index_geometric_mean_s_knm_g',
            'tensile_stiffness_index_md_cd_ratio', 'tensile_stiffness_index_md_cd_ratio_s',
            'elastic_modulus_md_gpa', 'elastic_modulus_md_s_gpa',
            'elastic_modulus_cd_gpa', 'elastic_modulus_cd_s_gpa',
            'elastic_modulus_geometric_mean_gpa', 'elastic_modulus_geometric_mean_s_gpa',
            'elastic_modulus_md_cd_ratio', 'elastic_modulus_md_cd_ratio_s'
    )
    USING max(value)
    GROUP BY trial, trial_point
)

SELECT
    forming.*,
    setting.grammage_basis,
    setting.thickness_kind,
    setting.admitted_verdicts,
    properties.* EXCLUDE (trial, trial_point)
FROM trial_point_summary.forming AS forming
LEFT JOIN properties
    ON forming.trial = properties.trial
    AND forming.trial_point = properties.trial_point
CROSS JOIN main.setting AS setting
