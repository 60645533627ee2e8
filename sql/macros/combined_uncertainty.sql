-- Standard uncertainty that independent parts make together: the root of the sum of their variances, given as a list.
-- A part that is NULL is not known and adds nothing; NULL where none is known. Source: GUM, JCGM 100:2008, 5.1.2,
-- from memory.
CREATE OR REPLACE MACRO combined_uncertainty(variances) AS
    sqrt(list_sum(variances));
