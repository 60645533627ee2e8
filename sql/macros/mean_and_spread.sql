-- Count, mean and sample standard deviation of a column's values and the number left out, as a struct; s is NULL for
-- fewer than two. counts says which rows are included; by default all. The mean is summed with compensation for
-- rounding. Source: definitions.
CREATE OR REPLACE MACRO mean_and_spread(value, counts := TRUE) AS
    {
        'n': count(value) FILTER (WHERE counts),
        'mean': favg(value) FILTER (WHERE counts),
        's': stddev_samp(value) FILTER (WHERE counts),
        'n_left_out': count(value) FILTER (WHERE NOT counts)
    };
