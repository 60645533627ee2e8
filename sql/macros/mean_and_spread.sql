-- Count, mean and sample standard deviation of a column's values, as a struct; s is NULL for fewer than two.
-- The mean is summed with compensation for rounding. Source: definitions.
CREATE OR REPLACE MACRO mean_and_spread(value) AS
    { 'n': count(value), 'mean': favg(value), 's': stddev_samp(value) };
