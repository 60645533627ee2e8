-- Purpose: the trial points: mean forming conditions, mean properties and their spread between sheets, with indices
--     on the basis in the settings.
-- Grain: One row per trial point.
-- Inputs: forming.trial_point, value.point_value, value.wide_column, main.setting
WITH preferred AS (
    SELECT
        value.trial,
        value.trial_point,
        wide.value_column,
        wide.s_column,
        value.value,
        value.s
    FROM value.point_value AS value
    INNER JOIN value.wide_column AS wide
        ON value.property = wide.property
        AND value.direction IS NOT DISTINCT FROM wide.direction
    WHERE value.preferred
),

properties AS (
    PIVOT (
        SELECT trial, trial_point, value_column AS wide_column, value
        FROM preferred
        UNION ALL
        SELECT trial, trial_point, s_column, s
        FROM preferred
    )
    ON wide_column IN ({trial_point_columns})
    USING max(value)
    GROUP BY trial, trial_point
)

SELECT
    forming.*,
    setting.grammage_basis,
    setting.thickness_kind,
    setting.admitted_verdicts,
    properties.* EXCLUDE (trial, trial_point)
FROM forming.trial_point AS forming
LEFT JOIN properties
    ON forming.trial = properties.trial
    AND forming.trial_point = properties.trial_point
CROSS JOIN main.setting AS setting
