-- Tensile strength in kN/m: maximum force in N over the width in mm of the test piece.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO tensile_strength_kn_m(max_force_n, width_mm) AS
    max_force_n / width_mm;
