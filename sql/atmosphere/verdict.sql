-- Purpose: the verdict on the atmosphere of each test, with its reasons as text and the first of them as a code.
--     off_standard: a reading, the conditioning time or the side the sheet came from shows that the test was not made
--     in the chosen atmosphere; unverified: the logs are incomplete; standard: neither. A mass that still changed is a
--     reason and changes no verdict.
-- Grain: One row per test.
-- Inputs: atmosphere.evidence, main.setting, value.setting_list
WITH assessed AS (
    SELECT
        test.*,
        CASE
            WHEN test.tested_at_utc IS NULL
                THEN { 'code': 'no_test_time', 'text': 'No test time recorded' }
            WHEN test.timed_at_utc IS NULL
                THEN { 'code': 'no_time_of_day', 'text': 'Test date recorded without a time of day' }
            WHEN test.in_at_utc IS NULL
                THEN { 'code': 'no_conditioning', 'text': 'No conditioning recorded before the test' }
            WHEN test.out_at_utc < test.timed_at_utc
                THEN {
                    'code': 'taken_out',
                    'text': format(
                        'Taken out of {} before the test, at {}',
                        test.rooms,
                        local_minute(test.out_at_utc, setting.time_zone)
                    )
                }
            WHEN test.room IS NULL
                THEN { 'code': 'several_rooms', 'text': 'Recorded in several rooms at once: ' || test.rooms }
        END AS unplaced,
        CASE
            WHEN setting.preconditioning_required AND test.preconditioned = 'wet_side'
                THEN 'Conditioned from the wet side'
        END AS wet_side,
        CASE
            WHEN test.stayed_h < test.required_stay_h
                THEN format(
                    'Conditioned {:g} h; {:g} h required', floor(100 * test.stayed_h) / 100, test.required_stay_h
                )
        END AS short_stay,
        outside_limits(
            test.out_temperature_c, setting.lowest_temperature_c, setting.highest_temperature_c, '°C'
        ) AS temperature_out,
        outside_limits(
            test.out_relative_humidity_pct, setting.lowest_humidity_pct, setting.highest_humidity_pct, '% RH'
        ) AS humidity_out,
        CASE
            WHEN test.out_reading_at_utc IS NOT NULL
                THEN concat(
                    CASE
                        WHEN temperature_out IS NULL THEN 'Humidity ' || humidity_out
                        ELSE 'Temperature ' || temperature_out || coalesce(' and humidity ' || humidity_out, '')
                    END,
                    CASE WHEN setting.averaging_min > 0 THEN format(' as mean of {:g} min', setting.averaging_min) END,
                    ' at ',
                    local_minute(test.out_reading_at_utc, setting.time_zone),
                    format(', {:.0f} min before the test', minutes_between(test.out_reading_at_utc, test.timed_at_utc))
                )
        END AS excursion,
        CASE
            WHEN test.gap IS NULL THEN NULL
            WHEN test.read_at_utc IS NULL
                THEN {
                    'code': 'no_climate_record',
                    'text': format('No climate record of {} before the test', test.room)
                }
            ELSE {
                'code': 'climate_gap',
                'text': format(
                    'Climate record incomplete: no reading of {} from {} to {} ({:.0f} min; at most {:g} min allowed)',
                    test.room,
                    local_minute(test.gap.from_utc, setting.time_zone),
                    coalesce(local_minute(test.gap.to_utc, setting.time_zone), 'the test'),
                    minutes_between(test.gap.from_utc, coalesce(test.gap.to_utc, test.timed_at_utc)),
                    setting.longest_gap_min
                )
            }
        END AS missing_readings,
        CASE
            WHEN setting.preconditioning_required AND test.preconditioned IS NULL THEN 'No preconditioning recorded'
        END AS side_unknown,
        abs(test.mass_change_pct) <= setting.mass_constancy_pct AS mass_constant,
        CASE
            WHEN NOT mass_constant
                THEN format(
                    'Mass not constant: {:+.2f} % in {:.0f} min', test.mass_change_pct, test.mass_change_after_min
                )
        END AS changing_mass,
        list.admitted_verdicts
    FROM atmosphere.evidence AS test
    CROSS JOIN main.setting AS setting
    CROSS JOIN value.setting_list AS list
),

explained AS (
    SELECT
        *,
        CASE WHEN unplaced IS NULL THEN nullif(concat_ws('. ', wet_side, short_stay, excursion), '') END
            AS not_standard_because,
        coalesce(unplaced.text, nullif(concat_ws('. ', missing_readings.text, side_unknown), '')) AS unverified_because
    FROM assessed
)

SELECT
    kind,
    record_key,
    sheet_id,
    file_hash,
    line_number,
    tested_at_utc,
    CASE WHEN unplaced IS NULL THEN room END AS room,
    CASE WHEN unplaced IS NULL THEN in_at_utc END AS in_at_utc,
    CASE WHEN unplaced IS NULL THEN stayed_h END AS stayed_h,
    required_stay_h,
    CASE
        WHEN not_standard_because IS NOT NULL THEN 'off_standard'
        WHEN unverified_because IS NOT NULL THEN 'unverified'
        ELSE 'standard'
    END AS verdict,
    CASE
        WHEN unplaced IS NOT NULL THEN unplaced.code
        WHEN wet_side IS NOT NULL THEN 'wet_side'
        WHEN short_stay IS NOT NULL THEN 'stay_too_short'
        WHEN excursion IS NOT NULL AND temperature_out IS NOT NULL THEN 'temperature_out'
        WHEN excursion IS NOT NULL THEN 'humidity_out'
        WHEN missing_readings IS NOT NULL THEN missing_readings.code
        WHEN side_unknown IS NOT NULL THEN 'no_preconditioning'
        WHEN changing_mass IS NOT NULL THEN 'mass_not_constant'
    END AS reason_code,
    nullif(concat_ws('. ', not_standard_because, unverified_because, changing_mass), '') AS reason,
    list_contains(admitted_verdicts, verdict) AS admitted,
    CASE WHEN unplaced IS NULL THEN temperature_c END AS temperature_c,
    CASE WHEN unplaced IS NULL THEN relative_humidity_pct END AS relative_humidity_pct,
    CASE WHEN unplaced IS NULL THEN minutes_between(read_at_utc, timed_at_utc) END AS since_reading_min,
    mass_constant,
    mass_change_pct
FROM explained
