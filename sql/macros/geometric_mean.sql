-- Geometric mean of two positive values, in their unit; of MD and CD it depends little on fibre orientation. Source:
-- definition; its use for sheets is common practice, no source.
CREATE OR REPLACE MACRO geometric_mean(a, b) AS
    sqrt(a * b);
