-- Half-width of the 95 % interval of the mean of n readings with the sample standard deviation s, in its unit:
-- Student's t with n - 1 degrees of freedom times s over the square root of n; NULL for fewer than two. Source:
-- Student's t interval, as in GUM, JCGM 100:2008, G.3, from memory.
CREATE OR REPLACE MACRO interval_half_width(s, n) AS
    coverage_factor_95(n - 1) * error_of_mean(s, n);
