-- Purpose: the trial points: mean forming conditions, mean properties and their spread between sheets, with indices
--     on the basis in the settings.
-- Grain: One row per trial point.
-- Inputs: trial_point_summary.forming, trial_point_summary.property, main.setting
WITH named AS (
    SELECT trial, trial_point, concat_ws('_', wide_name, suffix) AS wide_column, value
    FROM trial_point_summary.property
    WHERE preferred
    UNION ALL
    SELECT trial, trial_point, concat_ws('_', wide_name, 's', suffix), s
    FROM trial_point_summary.property
    WHERE preferred
),

properties AS (
    PIVOT named
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
FROM trial_point_summary.forming AS forming
LEFT JOIN properties
    ON forming.trial = properties.trial
    AND forming.trial_point = properties.trial_point
CROSS JOIN main.setting AS setting
