-- Must hold: the settings that the numbers are made with are exactly one row.
-- Grain: One row if they are not.
-- Inputs: main.setting
SELECT count(*) AS n_rows
FROM main.setting
HAVING count(*) <> 1
