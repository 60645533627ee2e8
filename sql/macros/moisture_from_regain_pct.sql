-- Moisture content in % (wet basis) from the regain in % of the dry mass: M = u/(1 + u).
-- Source: follows from the definitions.
CREATE OR REPLACE MACRO moisture_from_regain_pct(moisture_regain_pct) AS
    100.0 * moisture_regain_pct / (100.0 + moisture_regain_pct);
