-- Tensile stiffness index in kN.m/g (= MN.m/kg): tensile stiffness in kN/m over grammage in g/m2.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO tensile_stiffness_index_knm_g(tensile_stiffness_kn_m, grammage_g_m2) AS
    tensile_stiffness_kn_m / grammage_g_m2;
