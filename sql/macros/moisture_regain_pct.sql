-- Moisture regain in % of the dry mass (dry basis) from the moisture content in % (wet basis): u = M/(1 - M).
-- Source: follows from the definitions.
CREATE OR REPLACE MACRO moisture_regain_pct(moisture_pct) AS
    100.0 * moisture_pct / (100.0 - moisture_pct);
