-- Purpose: the preferred means of each trial point.
-- Grain: One row per trial point, direction and property.
-- Inputs: main.trial_point_property
SELECT
    trial,
    trial_point,
    direction,
    property,
    unit,
    n_sheets,
    n_readings,
    n_left_out,
    value,
    s,
    interval_low,
    interval_high,
    expanded_uncertainty
FROM main.trial_point_property
WHERE preferred AND assumption IS NULL
ORDER BY trial, property, direction, trial_point
