-- Must hold: the elastic modulus (GPa) is the tensile stiffness index (kN.m/g) times the apparent density
--     (g/cm3), to 1e-9.
-- Grain: One row per test piece that breaks it.
-- Inputs: main.test_piece
SELECT
    file_hash,
    line_number,
    elastic_modulus_gpa,
    tensile_stiffness_index_knm_g * apparent_density_kg_m3 / 1000 AS expected_gpa
FROM main.test_piece
WHERE abs(elastic_modulus_gpa - expected_gpa) > 1e-9 * expected_gpa
