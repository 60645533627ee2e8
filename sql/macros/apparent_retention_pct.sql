-- Apparent retention in %: oven-dry mass in the sheet, from its grammage in g/m2 and area in m2, over the
-- oven-dry mass sprayed in g. Source: mass balance.
CREATE OR REPLACE MACRO apparent_retention_pct(grammage_oven_dry_g_m2, area_m2, oven_dry_mass_g) AS
    100.0 * grammage_oven_dry_g_m2 * area_m2 / oven_dry_mass_g;
