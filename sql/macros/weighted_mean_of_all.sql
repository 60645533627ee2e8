-- Mean of a column's values weighted by another column; NULL where a row has no value or no weight. Equal values need
-- no weights. Source: definition.
CREATE OR REPLACE MACRO weighted_mean_of_all(value, weight) AS
    CASE
        WHEN count(*) > count(value) THEN NULL
        WHEN min(value) = max(value) THEN min(value)
        WHEN count(*) = count(weight) THEN sum(value * weight) / nullif(sum(weight), 0)
    END;
