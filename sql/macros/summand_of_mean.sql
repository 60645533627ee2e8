-- What is averaged to a mean of a kind: the value, or its logarithm.
-- Source: definition.
CREATE OR REPLACE MACRO summand_of_mean(mean_kind, value) AS
    CASE mean_kind WHEN 'logarithmic' THEN ln(value) ELSE value END;
