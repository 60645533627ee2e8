-- Purpose: the data for the fit of MD/CD against the jet-to-wire ratio: for each trial and property the sheets that
--     have both, with a number for each trial point, and their furnishes.
-- Grain: One row per trial and property that has an MD/CD on the preferred basis.
-- Inputs: main.sheet, main.sheet_property, main.layer
WITH sheet_response AS (
    SELECT
        property.trial,
        property.property,
        property.sheet_id,
        property.value AS md_cd_ratio,
        sheet.jet_to_wire_ratio,
        dense_rank() OVER (PARTITION BY property.trial ORDER BY property.trial_point) AS trial_point_no,
        coalesce(
            property.value > 0 AND isfinite(property.value)
            AND sheet.jet_to_wire_ratio > 0 AND isfinite(sheet.jet_to_wire_ratio),
            FALSE
        ) AS enters
    FROM main.sheet_property AS property
    INNER JOIN main.sheet AS sheet ON property.sheet_id = sheet.sheet_id
    WHERE property.direction = 'MD/CD' AND property.preferred
),

listed AS (
    SELECT
        trial,
        property,
        coalesce(
            list({
                'jet_to_wire_ratio': jet_to_wire_ratio,
                'md_cd_ratio': md_cd_ratio,
                'trial_point_no': trial_point_no
            } ORDER BY sheet_id) FILTER (enters),
            []
        ) AS sheets
    FROM sheet_response
    GROUP BY trial, property
),

furnished AS (
    SELECT
        response.trial,
        response.property,
        string_agg(DISTINCT layer.furnish, ', ' ORDER BY layer.furnish) AS furnishes
    FROM sheet_response AS response
    INNER JOIN main.layer AS layer ON response.sheet_id = layer.sheet_id
    WHERE response.enters
    GROUP BY response.trial, response.property
)

SELECT
    listed.*,
    furnished.furnishes
FROM listed
LEFT JOIN furnished
    ON listed.trial = furnished.trial
    AND listed.property = furnished.property
ORDER BY listed.trial, listed.property
