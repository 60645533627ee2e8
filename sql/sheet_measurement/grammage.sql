-- Purpose: grammage and moisture of each sheet, from tests in an admitted atmosphere. A grammage on a basis that was
--     not weighed is computed from the other basis and the sheet's own moisture, else from the mean moisture of the
--     sheets of its trial point, never from a handbook value; it has no spread of its own. Oven-dry and as-received
--     weighings count in any atmosphere. Means carry their uncertainty: random from the scatter of the readings,
--     systematic from the stated accuracy of balance and oven. A moisture taken from the trial point is uncertain by
--     the spread between sheets; the error is common to all sheets that use it, so it is systematic.
-- Grain: One row per sheet with weighings or oven-dry pairs.
-- Inputs: records.basis_weight, records.moisture, staging.sheet, atmosphere_compliance.climate_test,
--     main.tester_accuracy, main.setting
WITH piece AS (
    SELECT
        record.sheet_id,
        record.state,
        coalesce(
            grammage_g_m2(record.mass_g, coalesce(record.area_mm2, record.length_mm * record.width_mm)),
            record.grammage_g_m2
        ) AS grammage_g_m2,
        combined_uncertainty([
            (standard_uncertainty(accuracy.mass_g) / record.mass_g) ** 2,
            (standard_uncertainty(accuracy.area_pct) / 100) ** 2
        ]) AS relative_uncertainty,
        coalesce(compliance.admitted, record.state <> 'conditioned') AS counts
    FROM records.basis_weight AS record
    LEFT JOIN atmosphere_compliance.climate_test AS compliance
        ON record.file_hash = compliance.file_hash
        AND record.line_number = compliance.line_number
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    WHERE record.record_status = 'loaded'
),

weighed AS (
    SELECT
        sheet_id,
        measured_mean(CASE WHEN state = 'conditioned' THEN grammage_g_m2 END, uncertainty_g_m2, counts) AS conditioned,
        measured_mean(CASE WHEN state = 'oven_dry' THEN grammage_g_m2 END, uncertainty_g_m2, counts) AS oven_dry,
        measured_mean(CASE WHEN state = 'as_received' THEN grammage_g_m2 END, uncertainty_g_m2, counts) AS as_received
    FROM (SELECT *, grammage_g_m2 * relative_uncertainty AS uncertainty_g_m2 FROM piece)
    GROUP BY sheet_id
),

dried AS (
    SELECT
        record.sheet_id,
        measured_mean(
            moisture_pct(record.mass_before_g, record.mass_after_g),
            moisture_uncertainty_pct(
                record.mass_before_g, record.mass_after_g, standard_uncertainty(accuracy.mass_g)
            ),
            compliance.admitted
        ) AS moisture,
        favg(compliance.temperature_c) FILTER (WHERE compliance.admitted) AS temperature_c,
        favg(compliance.relative_humidity_pct) FILTER (WHERE compliance.admitted) AS relative_humidity_pct
    FROM records.moisture AS record
    INNER JOIN atmosphere_compliance.climate_test AS compliance
        ON record.file_hash = compliance.file_hash
        AND record.line_number = compliance.line_number
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    GROUP BY record.sheet_id
),

own AS (
    SELECT
        sheet.sheet_id,
        weighed.conditioned,
        weighed.oven_dry,
        weighed.as_received,
        dried.moisture,
        moisture_from_regain_pct(wood_equilibrium_regain_pct(dried.temperature_c, dried.relative_humidity_pct))
            AS wood_moisture_pct,
        moisture_from_regain_pct(0.4 * wood_equilibrium_regain_pct(dried.temperature_c, dried.relative_humidity_pct))
            AS least_moisture_pct,
        format('{:.1f} °C and {:.0f} % RH', dried.temperature_c, dried.relative_humidity_pct) AS air,
        favg(dried.moisture.mean) OVER of_point AS point_moisture_pct,
        sum(dried.moisture.n) OVER of_point AS n_point_moisture,
        combined_uncertainty([
            variance(dried.moisture.mean) OVER of_point * (1 + 1 / count(dried.moisture.mean) OVER of_point),
            (max(dried.moisture.systematic) OVER of_point) ** 2
        ]) AS point_moisture_uncertainty_pct
    FROM staging.sheet AS sheet
    LEFT JOIN weighed ON sheet.sheet_id = weighed.sheet_id
    LEFT JOIN dried ON sheet.sheet_id = dried.sheet_id
    WINDOW of_point AS (PARTITION BY sheet.trial, sheet.trial_point)
),

with_moisture AS (
    SELECT
        *,
        CASE
            WHEN moisture.mean IS NOT NULL THEN 'sheet'
            WHEN point_moisture_pct IS NOT NULL THEN 'trial_point'
        END AS moisture_origin,
        CASE moisture_origin
            WHEN 'sheet'
                THEN {
                    'n': moisture.n,
                    'mean': moisture.mean,
                    'random': moisture.random,
                    'systematic': moisture.systematic
                }
            WHEN 'trial_point'
                THEN {
                    'n': n_point_moisture,
                    'mean': point_moisture_pct,
                    'random': NULL,
                    'systematic': point_moisture_uncertainty_pct
                }
        END AS basis_moisture,
        CASE
            WHEN moisture.mean > wood_moisture_pct
                THEN format(
                    '{:.1f} % is more than the {:.1f} % that wood holds at {}', moisture.mean, wood_moisture_pct, air
                )
            WHEN moisture.mean < least_moisture_pct
                THEN format(
                    '{:.1f} % is less than {:.1f} %, two fifths of what wood holds at {}',
                    moisture.mean,
                    least_moisture_pct,
                    air
                )
        END AS moisture_warning
    FROM own
    WHERE conditioned IS NOT NULL OR moisture IS NOT NULL
),

both_bases AS (
    SELECT
        * EXCLUDE (
            conditioned, oven_dry, wood_moisture_pct, least_moisture_pct, air,
            point_moisture_pct, n_point_moisture, point_moisture_uncertainty_pct
        ),
        conditioned.mean IS NULL AS derive_conditioned,
        oven_dry.mean IS NULL AS derive_oven_dry,
        CASE
            WHEN conditioned.mean IS NOT NULL THEN conditioned
            ELSE {
                'n': (oven_dry.n + basis_moisture.n)::BIGINT,
                'mean': conditioned_grammage_g_m2(oven_dry.mean, basis_moisture.mean),
                's': NULL,
                'n_left_out': conditioned.n_left_out,
                'random': conditioned_grammage_g_m2(oven_dry.random, basis_moisture.mean),
                'systematic': conditioned_grammage_g_m2(oven_dry.systematic, basis_moisture.mean)
            }
        END AS conditioned,
        CASE
            WHEN oven_dry.mean IS NOT NULL THEN oven_dry
            ELSE {
                'n': (conditioned.n + basis_moisture.n)::BIGINT,
                'mean': oven_dry_grammage_g_m2(conditioned.mean, basis_moisture.mean),
                's': NULL,
                'n_left_out': coalesce(conditioned.n_left_out, 0) + coalesce(moisture.n_left_out, 0),
                'random': oven_dry_grammage_g_m2(conditioned.random, basis_moisture.mean),
                'systematic': oven_dry_grammage_g_m2(conditioned.systematic, basis_moisture.mean)
            }
        END AS oven_dry
    FROM with_moisture
)

SELECT
    both_bases.* EXCLUDE (derive_conditioned, derive_oven_dry),
    CASE WHEN both_bases.conditioned.mean IS NOT NULL THEN both_bases.derive_conditioned END AS conditioned_derived,
    CASE WHEN both_bases.oven_dry.mean IS NOT NULL THEN both_bases.derive_oven_dry END AS oven_dry_derived,
    setting.grammage_basis,
    CASE setting.grammage_basis
        WHEN 'conditioned' THEN both_bases.conditioned
        WHEN 'oven_dry' THEN both_bases.oven_dry
        WHEN 'as_received' THEN both_bases.as_received
    END AS selected_grammage,
    (selected_grammage).mean AS grammage_g_m2
FROM both_bases
CROSS JOIN main.setting AS setting
