-- Coefficient of variation in %: standard deviation over mean; NULL where the mean is 0.
-- Source: definition.
CREATE OR REPLACE MACRO coefficient_of_variation_pct(standard_deviation, mean) AS
    100.0 * standard_deviation / nullif(mean, 0);
