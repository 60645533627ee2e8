-- Purpose: the tensile properties of each sheet: per direction the mean of the valid test pieces, and of MD and CD
--     the geometric mean (GM) and the ratio (MD/CD). wide_name and suffix form the column name in wide tables. Where
--     the settings correct a property for moisture, the estimate at the reference moisture is a property of its own
--     beside the measured one. A property without a valid test has no value. The uncertainty of each mean combines
--     the scatter of the pieces with the contributions of testers, grammage, moisture and thickness to first order.
--     MD and CD of a sheet share grammage and thickness, so these count in full in GM and cancel in MD/CD.
-- Grain: One row per sheet, direction, property and basis.
-- Inputs: derived.tensile, sheet_measurement.grammage, sheet_measurement.thickness, instrument_uncertainty.grammage,
--     instrument_uncertainty.tensile, staging.property, staging.moisture_correction, main.setting
WITH averaged AS (
    SELECT
        sheet_id,
        trial,
        trial_point,
        direction,
        mean_and_spread(COLUMNS([{averaged_columns}]), in_means)
    FROM derived.tensile
    GROUP BY sheet_id, trial, trial_point, direction
),

tidy AS (
    UNPIVOT averaged
    ON COLUMNS(* EXCLUDE (sheet_id, trial, trial_point, direction))
    INTO NAME averaged_column VALUE summary
),

per_direction AS (
    SELECT
        tidy.sheet_id,
        tidy.trial,
        tidy.trial_point,
        tidy.direction,
        property.property,
        grammage.basis,
        CASE WHEN property.thickness_power IS NOT NULL THEN thickness.selected_thickness_pressure_kpa END
            AS pressure_kpa,
        property.unit,
        property.suffix,
        tidy.summary.n AS n,
        tidy.summary.n_left_out AS n_left_out,
        property.factor
        * CASE WHEN property.grammage_power IS NULL THEN 1 ELSE grammage.summary.mean ** property.grammage_power END
        * CASE
            WHEN property.thickness_power IS NULL THEN 1
            ELSE thickness.selected_thickness.mean ** property.thickness_power
        END AS multiplier,
        tidy.summary.mean * multiplier AS value,
        tidy.summary.s * multiplier AS s,
        error_of_mean(tidy.summary.s, tidy.summary.n) * multiplier AS scatter
    FROM tidy
    INNER JOIN staging.property AS property ON tidy.averaged_column = property.averaged_column
    LEFT JOIN instrument_uncertainty.grammage AS grammage
        ON property.grammage_power IS NOT NULL AND tidy.sheet_id = grammage.sheet_id
    LEFT JOIN sheet_measurement.thickness AS thickness ON tidy.sheet_id = thickness.sheet_id
    WHERE tidy.summary.n + tidy.summary.n_left_out > 0 AND multiplier IS NOT NULL
),

both_directions AS (
    SELECT
        md.* EXCLUDE (direction, n, n_left_out, multiplier, value, s, scatter),
        md.n + cd.n AS n,
        md.n_left_out + cd.n_left_out AS n_left_out,
        md.value AS md,
        cd.value AS cd,
        sqrt((md.scatter / md.value) ** 2 + (cd.scatter / cd.value) ** 2) AS relative_scatter
    FROM per_direction AS md
    INNER JOIN per_direction AS cd
        ON md.sheet_id = cd.sheet_id
        AND md.property = cd.property
        AND md.basis IS NOT DISTINCT FROM cd.basis
    WHERE md.direction = 'MD' AND cd.direction = 'CD'
),

every_direction AS (
    SELECT * EXCLUDE (multiplier), property || '_' || lower(direction) AS wide_name
    FROM per_direction
    UNION ALL BY NAME
    SELECT
        * EXCLUDE (md, cd, relative_scatter),
        'GM' AS direction,
        geometric_mean(md, cd) AS value,
        value * relative_scatter / 2 AS scatter,
        property || '_geometric_mean' AS wide_name
    FROM both_directions
    UNION ALL BY NAME
    SELECT
        * EXCLUDE (md, cd, relative_scatter) REPLACE ('1' AS unit, NULL AS suffix),
        'MD/CD' AS direction,
        md / cd AS value,
        value * relative_scatter AS scatter,
        property || '_md_cd_ratio' AS wide_name
    FROM both_directions
),

with_estimates AS (
    SELECT
        *,
        property AS measured_property
    FROM every_direction
    UNION ALL BY NAME
    SELECT
        measurement.* REPLACE (
            measurement.property || '_estimated' AS property,
            measurement.wide_name || '_estimated' AS wide_name,
            at_reference_moisture(
                measurement.value, grammage.moisture.mean, correction.reference_moisture_pct, correction.change_pct
            ) AS value,
            NULL AS s,
            at_reference_moisture(
                measurement.scatter, grammage.moisture.mean, correction.reference_moisture_pct, correction.change_pct
            ) AS scatter
        ),
        measurement.property AS measured_property,
        correction.assumption,
        -correction.change_pct / 100 * measurement.value AS estimate_per_moisture
    FROM every_direction AS measurement
    INNER JOIN staging.moisture_correction AS correction ON measurement.property = correction.property
    INNER JOIN sheet_measurement.grammage AS grammage ON measurement.sheet_id = grammage.sheet_id
    WHERE measurement.direction <> 'MD/CD' AND grammage.moisture.mean IS NOT NULL
),

relative AS (
    SELECT
        tensile.*,
        coalesce(grammage.basis, 'conditioned') AS basis,
        grammage.summary.random / grammage.summary.mean AS grammage_random,
        grammage.summary.systematic / grammage.summary.mean AS grammage_systematic,
        grammage.per_moisture / grammage.summary.mean AS grammage_per_moisture,
        thickness.selected_thickness.random / thickness.selected_thickness.mean AS thickness_random,
        thickness.selected_thickness.systematic / thickness.selected_thickness.mean AS thickness_systematic,
        grammage.basis_moisture.random AS moisture_random_pct,
        grammage.basis_moisture.systematic AS moisture_systematic_pct
    FROM instrument_uncertainty.tensile AS tensile
    LEFT JOIN instrument_uncertainty.grammage AS grammage ON tensile.sheet_id = grammage.sheet_id
    LEFT JOIN sheet_measurement.thickness AS thickness ON tensile.sheet_id = thickness.sheet_id
),

with_parts AS (
    SELECT
        row.* EXCLUDE (scatter, measured_property, estimate_per_moisture),
        CASE WHEN row.direction <> 'MD/CD' THEN row.value END AS shared_value,
        shared_value * property.grammage_power * relative.grammage_per_moisture AS basis_per_moisture,
        coalesce(
            basis_per_moisture + row.estimate_per_moisture, basis_per_moisture, row.estimate_per_moisture
        ) AS per_moisture,
        {
            'scatter': row.scatter,
            'grammage_scatter': shared_value * property.grammage_power * relative.grammage_random,
            'moisture_scatter': per_moisture * relative.moisture_random_pct,
            'thickness_scatter': shared_value * property.thickness_power * relative.thickness_random,
            'force': row.value * property.force_power * relative.force,
            'elongation': row.value * property.elongation_power * relative.elongation,
            'width': row.value * property.width_power * relative.width,
            'span': row.value * property.span_power * relative.span,
            'grammage': shared_value * property.grammage_power * relative.grammage_systematic,
            'moisture': per_moisture * relative.moisture_systematic_pct,
            'thickness': shared_value * property.thickness_power * relative.thickness_systematic
        } AS part
    FROM with_estimates AS row
    INNER JOIN staging.property AS property ON row.measured_property = property.property
    LEFT JOIN relative
        ON row.sheet_id = relative.sheet_id
        AND row.direction = relative.direction
        AND coalesce(row.basis, 'conditioned') = relative.basis
)

SELECT
    with_parts.* EXCLUDE (part, shared_value, basis_per_moisture, per_moisture),
    uncertainty_budget(with_parts.part) AS uncertainty,
    coalesce(with_parts.basis = setting.grammage_basis, TRUE) AS preferred
FROM with_parts
CROSS JOIN main.setting AS setting
