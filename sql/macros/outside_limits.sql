-- In words, how far a value lies outside its limits: '24.6 °C, 0.6 °C above 24 °C'; NULL within them, the limits
-- themselves included. Source: common practice, no source.
CREATE OR REPLACE MACRO outside_limits(value, lowest, highest, unit) AS
    CASE
        WHEN value > highest THEN format('{0:g} {3}, {1:g} {3} above {2:g} {3}', value, value - highest, highest, unit)
        WHEN value < lowest THEN format('{0:g} {3}, {1:g} {3} below {2:g} {3}', value, lowest - value, lowest, unit)
    END;
