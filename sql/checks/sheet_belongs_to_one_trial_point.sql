-- Must hold: all layers of a sheet belong to the same trial point.
-- Grain: One row per sheet whose layers do not.
-- Inputs: records.forming
SELECT
    sheet_id,
    count(DISTINCT (trial, trial_point)) AS n_trial_points
FROM records.forming
WHERE fate = 'loaded'
GROUP BY sheet_id
HAVING count(DISTINCT (trial, trial_point)) > 1
