-- Purpose: the runs, the newest first.
-- Grain: One row per run.
-- Inputs: main.night
SELECT *
FROM main.night
ORDER BY run_no DESC
