-- Purpose: the settings of the published numbers.
-- Grain: One row.
-- Inputs: main.setting
SELECT * FROM main.setting
