-- Standard error of the mean of n readings, in the unit of their sample standard deviation s. Source: GUM, JCGM
-- 100:2008, 4.2.3, from memory.
CREATE OR REPLACE MACRO error_of_mean(s, n) AS
    s / sqrt(n);
