-- Oven-dry mass in g in a volume of stock: volume in L, times density in kg/m3 (= g/L), times the consistency in %
-- as mass of dry fibre per mass of stock. Source: consistency as in ISO 4119 (from memory).
CREATE OR REPLACE MACRO oven_dry_mass_g(stock_volume_l, consistency_pct, stock_density_kg_m3) AS
    stock_volume_l * stock_density_kg_m3 * consistency_pct / 100.0;
