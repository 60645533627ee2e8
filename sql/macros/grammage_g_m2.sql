-- Grammage in g/m2: mass in g over area in mm2.
-- Source: definition in ISO 536.
CREATE OR REPLACE MACRO grammage_g_m2(mass_g, area_mm2) AS
    1e6 * mass_g / area_mm2;
