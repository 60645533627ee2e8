-- Purpose: the moisture of each sheet from its own oven-dry pairs, and the moisture that its grammage on another basis
--     is computed with: its own, else the mean of the sheets of its trial point, never a handbook value. A moisture
--     taken from the trial point is uncertain by the spread between sheets; the error is common to all sheets that
--     use it, so it is systematic. A warning says where the moisture is not between what wood holds in the air of the
--     test and two fifths of it.
-- Grain: One row per sheet with weighings or oven-dry pairs.
-- Inputs: value.measured_mean, forming.sheet, atmosphere.verdict
WITH air AS (
    SELECT
        sheet_id,
        favg(temperature_c) AS temperature_c,
        favg(relative_humidity_pct) AS relative_humidity_pct
    FROM atmosphere.verdict
    WHERE kind = 'moisture' AND admitted
    GROUP BY sheet_id
),

own AS (
    SELECT
        sheet.sheet_id,
        dried.* EXCLUDE (sheet_id),
        favg(dried.mean) OVER of_point AS point_mean,
        (sum(dried.n) OVER of_point)::BIGINT AS point_n,
        combined_uncertainty([
            variance(dried.mean) OVER of_point * (1 + 1 / count(dried.mean) OVER of_point),
            (max(dried.systematic) OVER of_point) ** 2
        ]) AS point_uncertainty
    FROM forming.sheet AS sheet
    LEFT JOIN value.measured_mean AS dried ON sheet.sheet_id = dried.sheet_id AND dried.property = 'moisture'
    WINDOW of_point AS (PARTITION BY sheet.trial, sheet.trial_point)
),

weighed AS (
    SELECT DISTINCT sheet_id
    FROM value.measured_mean
    WHERE property IN ('grammage', 'moisture')
)

SELECT
    own.sheet_id,
    own.n,
    own.n_left_out,
    own.mean,
    own.s,
    own.random,
    own.systematic,
    own.verdict_rank,
    CASE WHEN own.mean IS NOT NULL THEN 'sheet' WHEN own.point_mean IS NOT NULL THEN 'trial_point' END AS origin,
    CASE origin WHEN 'sheet' THEN own.n WHEN 'trial_point' THEN own.point_n END AS basis_n,
    CASE origin WHEN 'sheet' THEN own.mean WHEN 'trial_point' THEN own.point_mean END AS basis_mean,
    CASE origin WHEN 'sheet' THEN own.random END AS basis_random,
    CASE origin WHEN 'sheet' THEN own.systematic WHEN 'trial_point' THEN own.point_uncertainty END
        AS basis_systematic,
    wood_equilibrium_regain_pct(air.temperature_c, air.relative_humidity_pct) AS wood_regain_pct,
    moisture_from_regain_pct(wood_regain_pct) AS most_pct,
    moisture_from_regain_pct(0.4 * wood_regain_pct) AS least_pct,
    format('{:.1f} °C and {:.0f} % RH', air.temperature_c, air.relative_humidity_pct) AS of_air,
    CASE
        WHEN own.mean > most_pct
            THEN format('{:.1f} % is more than the {:.1f} % that wood holds at {}', own.mean, most_pct, of_air)
        WHEN own.mean < least_pct
            THEN format(
                '{:.1f} % is less than {:.1f} %, two fifths of what wood holds at {}', own.mean, least_pct, of_air
            )
    END AS warning
FROM own
INNER JOIN weighed ON own.sheet_id = weighed.sheet_id
LEFT JOIN air ON own.sheet_id = air.sheet_id
