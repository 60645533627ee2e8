-- Purpose: whether each test was made in the chosen atmosphere. off_standard: a reading, the stay or the side the
--     sheet came from proves that it was not; unverified: the logs do not tell; standard: neither. The reason tells
--     everything found. A mass that still changed is told, and changes no verdict.
-- Grain: One row per test.
-- Inputs: atmosphere_evidence.climate_test, main.setting
WITH found AS (
    SELECT
        test.*,
        test.out_at_utc < test.timed_at_utc AS had_left,
        CASE
            WHEN setting.preconditioning_required AND test.preconditioned = 'wet_side' THEN 'came from the wet side'
        END AS wet_side,
        CASE
            WHEN test.stayed_h < test.required_stay_h
                THEN format(
                    'stayed {:g} h of the required {:g} h', floor(100 * test.stayed_h) / 100, test.required_stay_h
                )
        END AS short_stay,
        CASE
            WHEN test.out_reading_at_utc IS NOT NULL
                THEN utc_minute(test.out_reading_at_utc) || ': ' || concat_ws(
                    ', ',
                    outside_limits(
                        test.out_temperature_c, setting.lowest_temperature_c, setting.highest_temperature_c, '°C'
                    ),
                    outside_limits(
                        test.out_relative_humidity_pct,
                        setting.lowest_humidity_pct,
                        setting.highest_humidity_pct,
                        '% RH'
                    ),
                    CASE WHEN setting.averaging_min > 0 THEN format('mean of {:g} min', setting.averaging_min) END,
                    format('{:.0f} min before the test', minutes_between(test.out_reading_at_utc, test.timed_at_utc))
                )
        END AS excursion,
        CASE
            WHEN test.gap IS NOT NULL
                THEN format(
                    'no reading of {} from {} to {}, {:.0f} min of at most {:g} min',
                    test.room,
                    utc_minute(test.gap.from_utc),
                    coalesce(utc_minute(test.gap.to_utc), 'the test'),
                    minutes_between(test.gap.from_utc, coalesce(test.gap.to_utc, test.timed_at_utc)),
                    setting.longest_gap_min
                )
        END AS missing_readings,
        CASE
            WHEN setting.preconditioning_required AND test.preconditioned IS NULL THEN 'preconditioning not recorded'
        END AS side_unknown,
        abs(test.mass_change_pct) <= setting.mass_constancy_pct AS mass_constant,
        CASE
            WHEN NOT mass_constant
                THEN format(
                    'mass not constant: {:+.2f} % in {:.0f} min', test.mass_change_pct, test.mass_change_after_min
                )
        END AS changing_mass,
        setting.admitted_verdicts
    FROM atmosphere_evidence.climate_test AS test
    CROSS JOIN main.setting AS setting
),

told AS (
    SELECT
        *,
        CASE
            WHEN tested_at_utc IS NULL THEN 'the test has no time'
            WHEN timed_at_utc IS NULL THEN 'the test has a date and no time of day'
            WHEN in_at_utc IS NULL THEN 'no stay recorded in any room before the test'
            WHEN had_left THEN format('taken out of {} {}, before the test', rooms, utc_minute(out_at_utc))
            WHEN room IS NULL THEN format('in several rooms at once: {}', rooms)
        END AS unplaced,
        CASE WHEN unplaced IS NULL THEN nullif(concat_ws('; ', wet_side, short_stay, excursion), '') END AS against,
        coalesce(unplaced, nullif(concat_ws('; ', missing_readings, side_unknown), '')) AS untold
    FROM found
)

SELECT
    kind,
    sheet_id,
    file_hash,
    line_number,
    tested_at_utc,
    CASE WHEN unplaced IS NULL THEN room END AS room,
    CASE WHEN unplaced IS NULL THEN in_at_utc END AS in_at_utc,
    CASE WHEN unplaced IS NULL THEN stayed_h END AS stayed_h,
    required_stay_h,
    CASE
        WHEN against IS NOT NULL THEN 'off_standard'
        WHEN untold IS NOT NULL THEN 'unverified'
        ELSE 'standard'
    END AS verdict,
    nullif(concat_ws('; ', against, untold, changing_mass), '') AS reason,
    list_contains(string_split(admitted_verdicts, ','), verdict) AS admitted,
    CASE WHEN unplaced IS NULL THEN temperature_c END AS temperature_c,
    CASE WHEN unplaced IS NULL THEN relative_humidity_pct END AS relative_humidity_pct,
    CASE WHEN unplaced IS NULL THEN minutes_between(read_at_utc, timed_at_utc) END AS since_reading_min,
    mass_constant,
    mass_change_pct
FROM told
