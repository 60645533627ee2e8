-- Must hold: no value of a property is infinite or not a number.
-- Grain: One row per such value.
-- Inputs: main.sheet_property, main.trial_point_property
SELECT sheet_id AS item, property, direction, basis, value, s
FROM main.sheet_property
WHERE NOT isfinite(value) OR NOT isfinite(s)
UNION ALL
SELECT concat_ws(' | ', trial, trial_point), property, direction, basis, value, s
FROM main.trial_point_property
WHERE NOT isfinite(value) OR NOT isfinite(s)
