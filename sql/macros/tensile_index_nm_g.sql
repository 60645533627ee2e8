-- Tensile index in N.m/g: tensile strength in kN/m over grammage in g/m2, times 1000.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO tensile_index_nm_g(tensile_strength_kn_m, grammage_g_m2) AS
    1000.0 * tensile_strength_kn_m / grammage_g_m2;
