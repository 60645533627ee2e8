-- Purpose: the settings of the published numbers.
-- Grain: One row in all.
-- Inputs: main.setting
SELECT * FROM main.setting
