-- Purpose: what the columns of a test piece that are averaged mean: the name in tidy tables, the basis of
--     the grammage an index was made with, the UCUM code of the unit, and the ending that stands for it in
--     column names.
-- Grain: One row per averaged column of derived.tensile.
-- Inputs: none
SELECT *
FROM (
    VALUES
    ('tensile_strength_kn_m', 'tensile_strength', NULL, 'kN/m', 'kn_m'),
    ('stretch_pct', 'stretch', NULL, '%', 'pct'),
    ('tea_j_m2', 'tea', NULL, 'J/m2', 'j_m2'),
    ('tensile_stiffness_kn_m', 'tensile_stiffness', NULL, 'kN/m', 'kn_m'),
    ('elastic_modulus_gpa', 'elastic_modulus', NULL, 'GPa', 'gpa'),
    ('tensile_index_conditioned_nm_g', 'tensile_index', 'conditioned', 'N.m/g', 'nm_g'),
    ('tensile_index_oven_dry_nm_g', 'tensile_index', 'oven_dry', 'N.m/g', 'nm_g'),
    ('tensile_index_as_received_nm_g', 'tensile_index', 'as_received', 'N.m/g', 'nm_g'),
    ('breaking_length_conditioned_km', 'breaking_length', 'conditioned', 'km', 'km'),
    ('breaking_length_oven_dry_km', 'breaking_length', 'oven_dry', 'km', 'km'),
    ('breaking_length_as_received_km', 'breaking_length', 'as_received', 'km', 'km'),
    ('tea_index_conditioned_j_g', 'tea_index', 'conditioned', 'J/g', 'j_g'),
    ('tea_index_oven_dry_j_g', 'tea_index', 'oven_dry', 'J/g', 'j_g'),
    ('tea_index_as_received_j_g', 'tea_index', 'as_received', 'J/g', 'j_g'),
    ('tensile_stiffness_index_conditioned_knm_g', 'tensile_stiffness_index', 'conditioned', 'kN.m/g', 'knm_g'),
    ('tensile_stiffness_index_oven_dry_knm_g', 'tensile_stiffness_index', 'oven_dry', 'kN.m/g', 'knm_g'),
    ('tensile_stiffness_index_as_received_knm_g', 'tensile_stiffness_index', 'as_received', 'kN.m/g', 'knm_g')
) AS quantity (piece_column, property, basis, unit, suffix)
