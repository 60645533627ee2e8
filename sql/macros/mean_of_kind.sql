-- A mean of a kind, from the mean of its summands, or the mean sine and cosine of twice an angle in degrees.
-- Source: definition; angles: Mardia and Jupp, Directional Statistics (from memory).
CREATE OR REPLACE MACRO mean_of_kind(mean_kind, mean_summand, sine, cosine) AS
    CASE mean_kind
        WHEN 'logarithmic' THEN exp(mean_summand)
        WHEN 'circular' THEN degrees(atan2(sine, cosine)) / 2
        ELSE mean_summand
    END;
