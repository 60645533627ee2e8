-- A value outside its limits in words, '24.6 °C (limit 24 °C)'; NULL within them, the limits themselves included.
-- Source: common practice, no source.
CREATE OR REPLACE MACRO outside_limits(value, lowest, highest, unit) AS
    CASE
        WHEN value > highest THEN format('{0:g} {2} (limit {1:g} {2})', value, highest, unit)
        WHEN value < lowest THEN format('{0:g} {2} (limit {1:g} {2})', value, lowest, unit)
    END;
