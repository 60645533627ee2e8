-- Cosine of twice an angle in degrees that repeats after 180; NULL where the mean is not that of angles.
-- Source: definition; doubling of axial angles as in Mardia and Jupp, Directional Statistics (from memory).
CREATE OR REPLACE MACRO cosine_of_angle(mean_kind, value) AS
    CASE mean_kind WHEN 'circular' THEN cos(radians(2 * value)) END;
