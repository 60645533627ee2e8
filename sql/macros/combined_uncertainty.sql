-- Combined standard uncertainty of independent contributions: the square root of the sum of their variances, given
-- as a list. An unknown contribution (NULL) adds nothing; NULL where none is known. Source: GUM, JCGM 100:2008,
-- 5.1.2, from memory.
CREATE OR REPLACE MACRO combined_uncertainty(variances) AS
    sqrt(list_sum(variances));
