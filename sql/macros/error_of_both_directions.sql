-- Relative standard uncertainty of a product or ratio of MD and CD from those of each: errors of the same testers
-- add, or cancel in a ratio (sign -1) as far as they are equal; errors of different testers are independent. An
-- unknown error of one direction counts as zero. Source: GUM, JCGM 100:2008, 5.1.2 and 5.2.2, from memory.
CREATE OR REPLACE MACRO error_of_both_directions(md, cd, sign, same_testers) AS
    CASE
        WHEN md IS NULL AND cd IS NULL THEN NULL
        WHEN same_testers THEN abs(coalesce(md, 0) + sign * coalesce(cd, 0))
        ELSE sqrt(coalesce(md, 0) ** 2 + coalesce(cd, 0) ** 2)
    END;
