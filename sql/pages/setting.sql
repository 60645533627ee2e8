-- Purpose: the settings that the numbers were made with.
-- Grain: One row in all.
-- Inputs: main.setting
SELECT * FROM main.setting
