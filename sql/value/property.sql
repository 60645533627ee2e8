-- Purpose: the registry of properties (schemas/properties) as the models need it: the measured property that is
--     averaged to it (base), and the factor and the powers by which a made property follows from that and from the
--     sheet's grammage and thickness. The powers of what a tester measures (force, elongation, width, span) say how
--     an error in it changes the property, to first order. NULL where a quantity does not enter. Where the settings
--     correct a property for moisture, the estimate at the reference moisture is a property of its own.
-- Grain: One row per property, and per estimate.
-- Inputs: main.setting, value.setting_list
WITH entry AS (
    SELECT
        property,
        unit,
        base,
        factor::DOUBLE AS factor,
        base_power::DOUBLE AS base_power,
        grammage_power::DOUBLE AS grammage_power,
        thickness_power::DOUBLE AS thickness_power,
        force_power::DOUBLE AS force_power,
        elongation_power::DOUBLE AS elongation_power,
        width_power::DOUBLE AS width_power,
        span_power::DOUBLE AS span_power
    FROM (
        VALUES
        {properties}
    ) AS entry (
        property, unit, base, factor, base_power, grammage_power, thickness_power, force_power, elongation_power,
        width_power, span_power
    )
),

correction AS (
    SELECT
        unnest(list.corrected_properties) AS property,
        unnest(setting.corrections_pct) AS change_pct,
        setting.reference_moisture_pct
    FROM main.setting AS setting
    CROSS JOIN value.setting_list AS list
    WHERE setting.reference_moisture_pct IS NOT NULL
)

SELECT
    *,
    NULL::DOUBLE AS change_pct,
    NULL::DOUBLE AS reference_moisture_pct,
    NULL::VARCHAR AS assumption
FROM entry
UNION ALL
SELECT
    entry.* REPLACE (entry.property || '_estimated' AS property),
    correction.change_pct,
    correction.reference_moisture_pct,
    format(
        'changes by {:+g} % per point of moisture, taken to {:g} %: the laboratory''s own setting',
        correction.change_pct,
        correction.reference_moisture_pct
    )
FROM entry
INNER JOIN correction ON entry.property = correction.property
