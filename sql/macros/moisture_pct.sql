-- Moisture content in % of the moist mass (wet basis): M = (m0 - m1)/m0, both masses in g.
-- Source: definition.
CREATE OR REPLACE MACRO moisture_pct(mass_before_g, mass_after_g) AS
    100.0 * (mass_before_g - mass_after_g) / mass_before_g;
