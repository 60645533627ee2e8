-- Tensile energy absorption index in J/g: tensile energy absorption in J/m2 over grammage in g/m2.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO tea_index_j_g(tea_j_m2, grammage_g_m2) AS
    tea_j_m2 / grammage_g_m2;
