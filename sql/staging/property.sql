-- Purpose: the registry of properties (schemas/properties) as the models need it: the column of a test piece that is
--     averaged to a property, and the factor and the powers by which a made property follows from it and from the
--     sheet's grammage and thickness. The powers of what a tester measures (force, elongation, width, span) say how
--     an error in it changes the property, to first order. NULL where a quantity does not enter.
-- Grain: One row per property.
-- Inputs: none
SELECT
    property,
    unit,
    suffix,
    averaged_column,
    factor::DOUBLE AS factor,
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
    property, unit, suffix, averaged_column, factor, grammage_power, thickness_power, force_power, elongation_power,
    width_power, span_power
)
