-- Conditioned grammage in g/m2 from the oven-dry one in g/m2 and the moisture content in % (wet basis):
-- w = w_od/(1 - M). Source: follows from the definitions.
CREATE OR REPLACE MACRO conditioned_grammage_g_m2(grammage_oven_dry_g_m2, moisture_pct) AS
    grammage_oven_dry_g_m2 / (1.0 - moisture_pct / 100.0);
