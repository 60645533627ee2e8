-- Sum of a column's values; NULL where a row has none, because a part of a sum is not the sum. Source: definition.
CREATE OR REPLACE MACRO sum_of_all(value) AS
    CASE WHEN count(*) = count(value) THEN sum(value) END;
