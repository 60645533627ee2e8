-- Standard deviation in the unit of the mean: of logarithms, times the mean; of angles, the circular one in degrees.
-- Source: first-order propagation, JCGM 100:2008; angles: Mardia and Jupp, Directional Statistics (from memory).
CREATE OR REPLACE MACRO spread_of_kind(mean_kind, mean, s_of_summands, n, sine, cosine) AS
    CASE
        WHEN mean_kind = 'logarithmic' THEN mean * s_of_summands
        WHEN mean_kind = 'circular' AND n > 1
            THEN degrees(sqrt(-2 * ln(greatest(least(sqrt(sine ** 2 + cosine ** 2), 1), 1e-300)))) / 2
        WHEN mean_kind = 'arithmetic' THEN s_of_summands
    END;
