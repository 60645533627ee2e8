-- Oven-dry grammage in g/m2 of a sheet that keeps all sprayed oven-dry mass in g on its area in m2. Source: mass
-- balance.
CREATE OR REPLACE MACRO predicted_grammage_g_m2(oven_dry_mass_g, area_m2) AS
    oven_dry_mass_g / area_m2;
