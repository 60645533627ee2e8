-- Elastic modulus in GPa: tensile stiffness in kN/m over thickness in um.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO elastic_modulus_gpa(tensile_stiffness_kn_m, thickness_um) AS
    tensile_stiffness_kn_m / thickness_um;
