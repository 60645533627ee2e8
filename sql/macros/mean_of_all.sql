-- Mean of a column's values; NULL where a row has none. The mean is summed with compensation for rounding.
-- Source: definition.
CREATE OR REPLACE MACRO mean_of_all(value) AS
    CASE
        WHEN count(*) > count(value) THEN NULL
        WHEN min(value) = max(value) THEN min(value)
        ELSE favg(value)
    END;
