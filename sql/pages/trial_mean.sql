-- Purpose: the means of each trial point that wide tables show.
-- Grain: One row per trial point, direction and property.
-- Inputs: main.trial_point_property, main.trial_point
SELECT
    mean.trial,
    mean.trial_point,
    mean.direction,
    mean.property,
    mean.unit,
    mean.n_sheets,
    mean.n_readings,
    mean.n_left_out,
    mean.value,
    mean.s,
    mean.cv_pct,
    mean.interval_low,
    mean.interval_high,
    mean.expanded_uncertainty,
    row_number() OVER (
        PARTITION BY mean.trial, mean.direction, mean.property
        ORDER BY point.first_formed_at_utc ASC NULLS LAST, mean.trial_point ASC
    ) AS place
FROM main.trial_point_property AS mean
INNER JOIN main.trial_point AS point ON mean.trial = point.trial AND mean.trial_point = point.trial_point
WHERE mean.preferred AND mean.assumption IS NULL
ORDER BY mean.trial, mean.property, mean.direction, place
