-- Purpose: the climate of the rooms around each sheet's tests, for drawing: from the required conditioning before
--     the first test to the last test, the readings as compared with the limits. A run of readings ends where a
--     gap longer than allowed begins. Long times are thinned to some 240 readings: per interval those farthest
--     from the middle of the limits. Times are minutes from from_utc; numbers are separated by spaces. Sheets join
--     readings by the hour, because a join on ranges of time alone compares every sheet with every reading.
-- Grain: One row per sheet, room and unbroken run of readings.
-- Inputs: main.test_atmosphere, main.setting, records.climate
WITH around AS (
    SELECT
        sheet_id,
        room,
        min(tested_at_utc - to_seconds(3600 * required_stay_h)) AS from_utc,
        max(tested_at_utc) AS to_utc
    FROM main.test_atmosphere
    WHERE room IS NOT NULL AND tested_at_utc IS NOT NULL
    GROUP BY sheet_id, room
),

around_by_hour AS (
    SELECT
        *,
        unnest(range(epoch(from_utc)::BIGINT // 3600, epoch(to_utc)::BIGINT // 3600 + 1)) AS hour
    FROM around
),

recorded AS (
    SELECT
        climate.room,
        climate.read_at_utc,
        climate.temperature_c,
        climate.relative_humidity_pct,
        setting.longest_gap_min,
        to_seconds(60 * setting.averaging_min) AS averaging_time,
        (setting.lowest_temperature_c + setting.highest_temperature_c) / 2 AS middle_temperature_c,
        (setting.lowest_humidity_pct + setting.highest_humidity_pct) / 2 AS middle_humidity_pct
    FROM records.climate AS climate
    CROSS JOIN main.setting AS setting
    WHERE climate.record_status = 'loaded'
),

reading AS (
    SELECT
        * REPLACE (
            avg(temperature_c) OVER recent AS temperature_c,
            avg(relative_humidity_pct) OVER recent AS relative_humidity_pct
        ),
        lag(read_at_utc) OVER by_time AS previous_at_utc
    FROM recorded
    WINDOW
        by_time AS (PARTITION BY room ORDER BY read_at_utc),
        recent AS (
            PARTITION BY room
            ORDER BY read_at_utc
            RANGE BETWEEN averaging_time PRECEDING AND CURRENT ROW
        )
),

in_run AS (
    SELECT
        *,
        epoch(read_at_utc)::BIGINT // 3600 AS hour,
        sum(coalesce(minutes_between(previous_at_utc, read_at_utc) > longest_gap_min, FALSE)::BIGINT) OVER (
            PARTITION BY room
            ORDER BY read_at_utc
            ROWS UNBOUNDED PRECEDING
        ) AS run
    FROM reading
),

thinned AS (
    SELECT
        around.sheet_id,
        around.room,
        around.from_utc,
        around.to_utc,
        in_run.run,
        min(in_run.read_at_utc) AS read_at_utc,
        arg_max(
            { 'value': in_run.temperature_c, 'at_utc': in_run.read_at_utc },
            (abs(in_run.temperature_c - in_run.middle_temperature_c), -epoch_ms(in_run.read_at_utc))
        ) FILTER (WHERE in_run.temperature_c IS NOT NULL) AS temperature,
        arg_max(
            { 'value': in_run.relative_humidity_pct, 'at_utc': in_run.read_at_utc },
            (abs(in_run.relative_humidity_pct - in_run.middle_humidity_pct), -epoch_ms(in_run.read_at_utc))
        ) FILTER (WHERE in_run.relative_humidity_pct IS NOT NULL) AS humidity,
        any_value(in_run.middle_temperature_c) AS middle_temperature_c,
        any_value(in_run.middle_humidity_pct) AS middle_humidity_pct
    FROM around_by_hour AS around
    INNER JOIN in_run
        ON around.room = in_run.room
        AND around.hour = in_run.hour
        AND in_run.read_at_utc BETWEEN around.from_utc AND around.to_utc
    GROUP BY
        around.sheet_id,
        around.room,
        around.from_utc,
        around.to_utc,
        in_run.run,
        floor(
            minutes_between(around.from_utc, in_run.read_at_utc)
            / greatest(1, minutes_between(around.from_utc, around.to_utc) / 240)
        )
),

drawn AS (
    SELECT
        sheet_id,
        room,
        from_utc,
        to_utc,
        run,
        string_agg(round(minutes_between(from_utc, read_at_utc), 1), ' ' ORDER BY read_at_utc) AS minutes,
        string_agg(round(temperature.value, 2), ' ' ORDER BY read_at_utc) AS temperatures_c,
        string_agg(round(humidity.value, 2), ' ' ORDER BY read_at_utc) AS humidities_pct,
        -- the first of readings equally far from the middle, so that every run gives the same result
        arg_max(temperature, (abs(temperature.value - middle_temperature_c), -epoch_ms(temperature.at_utc)))
            FILTER (WHERE temperature IS NOT NULL) AS farthest_temperature,
        arg_max(humidity, (abs(humidity.value - middle_humidity_pct), -epoch_ms(humidity.at_utc)))
            FILTER (WHERE humidity IS NOT NULL) AS farthest_humidity
    FROM thinned
    GROUP BY sheet_id, room, from_utc, to_utc, run
)

SELECT
    * EXCLUDE (run, farthest_temperature, farthest_humidity),
    farthest_temperature.value AS farthest_temperature_c,
    farthest_temperature.at_utc AS farthest_temperature_at_utc,
    farthest_humidity.value AS farthest_humidity_pct,
    farthest_humidity.at_utc AS farthest_humidity_at_utc
FROM drawn
ORDER BY sheet_id, room, run
