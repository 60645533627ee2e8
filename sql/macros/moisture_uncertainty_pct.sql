-- Standard uncertainty in % of the moisture content of an oven-dry pair, both masses in g, from the standard
-- uncertainty of the balance in g, which affects both weighings independently. Source: follows from M = 1 - m1/m0.
CREATE OR REPLACE MACRO moisture_uncertainty_pct(mass_before_g, mass_after_g, mass_uncertainty_g) AS
    100.0 * mass_uncertainty_g * sqrt(mass_before_g ** 2 + mass_after_g ** 2) / mass_before_g ** 2;
