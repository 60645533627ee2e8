-- Oven-dry grammage in g/m2 from the conditioned one in g/m2 and the moisture content in % (wet basis):
-- w_od = w (1 - M). Source: follows from the definitions.
CREATE OR REPLACE MACRO oven_dry_grammage_g_m2(grammage_conditioned_g_m2, moisture_pct) AS
    grammage_conditioned_g_m2 * (1.0 - moisture_pct / 100.0);
