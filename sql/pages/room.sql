-- Purpose: the climate of each room from its log: the share of the logged time outside the chosen limits, the last
--     time outside, and missing readings. A reading holds until the next one. The time between two readings
--     further apart than allowed is a gap and is not logged. With an averaging time, the mean of the readings in
--     that time up to each reading is compared with the limits, as for the tests.
-- Grain: One row per room with readings.
-- Inputs: records.climate, main.setting
WITH recorded AS (
    SELECT
        climate.room,
        climate.read_at_utc,
        climate.temperature_c,
        climate.relative_humidity_pct,
        to_seconds(60 * setting.averaging_min) AS averaging_time
    FROM records.climate AS climate
    CROSS JOIN main.setting AS setting
    WHERE climate.record_status = 'loaded'
),

summary AS (
    SELECT
        *,
        round(favg(temperature_c) OVER recent, 9) AS judged_temperature_c,
        round(favg(relative_humidity_pct) OVER recent, 9) AS judged_humidity_pct
    FROM recorded
    WINDOW recent AS (
        PARTITION BY room
        ORDER BY read_at_utc
        RANGE BETWEEN averaging_time PRECEDING AND CURRENT ROW
    )
),

followed AS (
    SELECT
        summary.*,
        setting.longest_gap_min,
        judged_temperature_c NOT BETWEEN setting.lowest_temperature_c AND setting.highest_temperature_c
            AS temperature_is_out,
        judged_humidity_pct NOT BETWEEN setting.lowest_humidity_pct AND setting.highest_humidity_pct
            AS humidity_is_out,
        minutes_between(read_at_utc, lead(read_at_utc) OVER by_time) AS next_min
    FROM summary
    CROSS JOIN main.setting AS setting
    WINDOW by_time AS (PARTITION BY room ORDER BY read_at_utc)
),

timed AS (
    SELECT
        *,
        CASE WHEN next_min <= longest_gap_min THEN next_min ELSE 0 END AS logged_min,
        CASE WHEN next_min > longest_gap_min THEN next_min END AS gap_min
    FROM followed
),

summed AS (
    SELECT
        room,
        count(*) AS n_readings,
        min(read_at_utc) AS first_read_at_utc,
        max(read_at_utc) AS last_read_at_utc,
        fsum(logged_min) AS logged_min,
        fsum(logged_min) FILTER (WHERE temperature_is_out OR humidity_is_out) AS out_min,
        fsum(logged_min) FILTER (WHERE temperature_is_out) AS temperature_out_min,
        fsum(logged_min) FILTER (WHERE humidity_is_out) AS humidity_out_min,
        max(read_at_utc) FILTER (WHERE temperature_is_out OR humidity_is_out) AS last_out_at_utc,
        max(read_at_utc) FILTER (WHERE temperature_is_out) AS last_temperature_out_at_utc,
        max(read_at_utc) FILTER (WHERE humidity_is_out) AS last_humidity_out_at_utc,
        min(temperature_c) AS lowest_temperature_c,
        max(temperature_c) AS highest_temperature_c,
        min(relative_humidity_pct) AS lowest_humidity_pct,
        max(relative_humidity_pct) AS highest_humidity_pct,
        count(gap_min) AS n_gaps,
        coalesce(fsum(gap_min), 0) / 60 AS gap_h,
        max(gap_min) / 60 AS longest_gap_h,
        arg_max(read_at_utc, (gap_min, read_at_utc)) FILTER (WHERE gap_min IS NOT NULL) AS longest_gap_from_utc
    FROM timed
    GROUP BY room
)

SELECT
    room,
    n_readings,
    first_read_at_utc,
    last_read_at_utc,
    logged_min / 60 AS logged_h,
    100 * coalesce(out_min, 0) / nullif(logged_min, 0) AS out_pct,
    100 * coalesce(temperature_out_min, 0) / nullif(logged_min, 0) AS temperature_out_pct,
    100 * coalesce(humidity_out_min, 0) / nullif(logged_min, 0) AS humidity_out_pct,
    last_out_at_utc,
    last_temperature_out_at_utc,
    last_humidity_out_at_utc,
    lowest_temperature_c,
    highest_temperature_c,
    lowest_humidity_pct,
    highest_humidity_pct,
    n_gaps,
    gap_h,
    longest_gap_h,
    longest_gap_from_utc
FROM summed
ORDER BY room
