-- Purpose: the settings that the numbers were made with.
-- Grain: One row.
-- Inputs: main.setting
SELECT * FROM main.setting
