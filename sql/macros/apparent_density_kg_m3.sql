-- Apparent density in kg/m3: grammage in g/m2 over thickness in um, times 1000.
-- Source: definition in ISO 534.
CREATE OR REPLACE MACRO apparent_density_kg_m3(grammage_g_m2, thickness_um) AS
    1000.0 * grammage_g_m2 / thickness_um;
