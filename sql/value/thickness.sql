-- Purpose: the thickness of each sheet: single sheets, and packs divided by their sheets. The two are never mixed, and
--     of several pressures the preferred one counts.
-- Grain: One row per sheet with readings, and kind: thickness, or thickness_stack.
-- Inputs: value.measured_mean, main.setting
SELECT
    mean.* EXCLUDE (direction, basis, preferred),
    mean.property = CASE setting.thickness_kind WHEN 'single' THEN 'thickness' WHEN 'stack' THEN 'thickness_stack' END
        AS is_selected
FROM value.measured_mean AS mean
CROSS JOIN main.setting AS setting
WHERE mean.property IN ('thickness', 'thickness_stack') AND mean.preferred
