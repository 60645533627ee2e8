-- Must hold: the settings are exactly one row.
-- Grain: One row if it is broken.
-- Inputs: main.setting
SELECT count(*) AS n_rows
FROM main.setting
HAVING count(*) <> 1
