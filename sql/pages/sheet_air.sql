-- Purpose: the air of the rooms around each sheet's tests, for drawing: from the required stay before the first test
--     to the last one, the readings as they are held against the limits. An unbroken run ends where a gap longer than
--     allowed begins. Of long times some 240 readings are kept: of each stretch of time the ones farthest from the
--     middle of the limits. Times are minutes from from_utc; numbers are divided by spaces. Sheets meet readings by the
--     hour: by a range of times alone every sheet would be compared with every reading.
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
    WHERE climate.fate = 'loaded'
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
        arg_max(in_run.temperature_c, abs(in_run.temperature_c - in_run.middle_temperature_c)) AS temperature_c,
        arg_max(in_run.relative_humidity_pct, abs(in_run.relative_humidity_pct - in_run.middle_humidity_pct))
            AS relative_humidity_pct,
        arg_max(in_run.read_at_utc, abs(in_run.temperature_c - in_run.middle_temperature_c)) AS temperature_at_utc,
        arg_max(in_run.read_at_utc, abs(in_run.relative_humidity_pct - in_run.middle_humidity_pct))
            AS humidity_at_utc,
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
)

SELECT
    sheet_id,
    room,
    from_utc,
    to_utc,
    epoch_ms(from_utc) AS from_ms,
    string_agg(round(minutes_between(from_utc, read_at_utc), 1), ' ' ORDER BY read_at_utc) AS minutes,
    string_agg(round(temperature_c, 2), ' ' ORDER BY read_at_utc) AS temperatures_c,
    string_agg(round(relative_humidity_pct, 2), ' ' ORDER BY read_at_utc) AS humidities_pct,
    arg_max(temperature_c, abs(temperature_c - middle_temperature_c)) AS farthest_temperature_c,
    arg_max(temperature_at_utc, abs(temperature_c - middle_temperature_c)) AS farthest_temperature_at_utc,
    arg_max(relative_humidity_pct, abs(relative_humidity_pct - middle_humidity_pct)) AS farthest_humidity_pct,
    arg_max(humidity_at_utc, abs(relative_humidity_pct - middle_humidity_pct)) AS farthest_humidity_at_utc
FROM thinned
GROUP BY sheet_id, room, from_utc, to_utc, run
ORDER BY sheet_id, room, run
