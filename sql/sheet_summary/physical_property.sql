-- Purpose: the properties of each sheet without a direction: grammage, moisture, thickness, density and bulk. Density
--     and bulk are computed from the mean grammage on each basis and the mean thickness of the kind in the settings.
--     A property without a valid test has no value. per_grammage, per_moisture and per_thickness are the sensitivity
--     coefficients for first-order propagation of uncertainty.
-- Grain: One row per sheet, property and basis.
-- Inputs: staging.sheet, instrument_uncertainty.grammage, sheet_measurement.grammage, sheet_measurement.thickness,
--     staging.property, main.setting
WITH made AS (
    SELECT
        grammage.sheet_id,
        property.property,
        grammage.basis,
        thickness.selected_thickness_pressure_kpa AS pressure_kpa,
        property.unit,
        property.suffix,
        grammage.summary.n + thickness.selected_thickness.n AS n,
        grammage.summary.n_left_out + thickness.selected_thickness.n_left_out AS n_left_out,
        property.factor
        * grammage.summary.mean ** property.grammage_power
        * thickness.selected_thickness.mean ** property.thickness_power AS value,
        grammage.summary AS grammage,
        value * property.grammage_power / grammage.summary.mean AS per_grammage,
        grammage.basis_moisture AS moisture,
        per_grammage * grammage.per_moisture AS per_moisture,
        thickness.selected_thickness AS thickness,
        value * property.thickness_power / thickness.selected_thickness.mean AS per_thickness
    FROM instrument_uncertainty.grammage AS grammage
    INNER JOIN sheet_measurement.thickness AS thickness ON grammage.sheet_id = thickness.sheet_id
    INNER JOIN staging.property AS property
        ON property.averaged_column IS NULL
        AND property.grammage_power IS NOT NULL
        AND property.thickness_power IS NOT NULL
),

tidy AS (
    SELECT
        sheet_id,
        'grammage' AS property,
        basis,
        'g/m2' AS unit,
        'g_m2' AS suffix,
        summary.n AS n,
        summary.mean AS value,
        summary.s AS s,
        summary.n_left_out AS n_left_out,
        summary AS grammage,
        1.0 AS per_grammage,
        basis_moisture AS moisture,
        per_moisture
    FROM instrument_uncertainty.grammage
    UNION ALL BY NAME
    SELECT
        sheet_id,
        'moisture' AS property,
        '%' AS unit,
        'pct' AS suffix,
        moisture.n AS n,
        moisture.mean AS value,
        moisture.s AS s,
        moisture.n_left_out AS n_left_out,
        basis_moisture AS moisture,
        1.0 AS per_moisture
    FROM sheet_measurement.grammage
    UNION ALL BY NAME
    SELECT
        sheet_id,
        'thickness' AS property,
        single_pressure_kpa AS pressure_kpa,
        'um' AS unit,
        'um' AS suffix,
        single.n AS n,
        single.mean AS value,
        single.s AS s,
        single.n_left_out AS n_left_out,
        single AS thickness,
        1.0 AS per_thickness
    FROM sheet_measurement.thickness
    UNION ALL BY NAME
    SELECT
        sheet_id,
        'thickness_stack' AS property,
        stack_pressure_kpa AS pressure_kpa,
        'um' AS unit,
        'um' AS suffix,
        stack.n AS n,
        stack.mean AS value,
        stack.s AS s,
        stack.n_left_out AS n_left_out,
        stack AS thickness,
        1.0 AS per_thickness
    FROM sheet_measurement.thickness
    UNION ALL BY NAME
    FROM made
),

with_parts AS (
    SELECT
        * EXCLUDE (grammage, moisture, thickness, per_grammage, per_moisture, per_thickness),
        {
            'scatter': NULL::DOUBLE,
            'grammage_scatter': per_grammage * grammage.random,
            'moisture_scatter': per_moisture * moisture.random,
            'thickness_scatter': per_thickness * thickness.random,
            'force': NULL::DOUBLE,
            'elongation': NULL::DOUBLE,
            'width': NULL::DOUBLE,
            'span': NULL::DOUBLE,
            'grammage': per_grammage * grammage.systematic,
            'moisture': per_moisture * moisture.systematic,
            'thickness': per_thickness * thickness.systematic
        } AS part
    FROM tidy
)

SELECT
    with_parts.* EXCLUDE (part),
    uncertainty_budget(with_parts.part) AS uncertainty,
    sheet.trial,
    sheet.trial_point,
    NULL::VARCHAR AS direction,
    with_parts.property AS wide_name,
    coalesce(with_parts.basis = setting.grammage_basis, TRUE) AS preferred
FROM with_parts
INNER JOIN staging.sheet AS sheet ON with_parts.sheet_id = sheet.sheet_id
CROSS JOIN main.setting AS setting
WHERE with_parts.value IS NOT NULL OR with_parts.n_left_out > 0
