-- Purpose: the climate of each room over time, thinned for drawing: one hour per row, or as many hours as give at
--     most 2000 rows for the whole logged time. stretch changes after a gap longer than allowed.
-- Grain: One row per room and hour, or several hours.
-- Inputs: records.climate, main.setting
WITH in_order AS (
    SELECT
        climate.room,
        climate.read_at_utc,
        climate.temperature_c,
        climate.relative_humidity_pct,
        minutes_between(lag(climate.read_at_utc) OVER by_time, climate.read_at_utc)
        > setting.longest_gap_min AS after_gap
    FROM records.climate AS climate
    CROSS JOIN main.setting AS setting
    WHERE climate.record_status = 'loaded'
    WINDOW by_time AS (PARTITION BY climate.room ORDER BY climate.read_at_utc)
),

placed AS (
    SELECT
        *,
        count(CASE WHEN after_gap THEN 1 END) OVER by_time AS stretch,
        greatest(
            1,
            ceil(minutes_between(min(read_at_utc) OVER of_room, max(read_at_utc) OVER of_room) / 60 / 1999)
        )::BIGINT AS hours
    FROM in_order
    WINDOW
        by_time AS (PARTITION BY room ORDER BY read_at_utc),
        of_room AS (PARTITION BY room)
)

SELECT
    room,
    time_bucket(to_hours(hours), read_at_utc) AS from_utc,
    any_value(hours) AS hours,
    max(stretch) AS stretch,
    count(*) AS n_readings,
    favg(temperature_c) AS temperature_c,
    min(temperature_c) AS lowest_temperature_c,
    max(temperature_c) AS highest_temperature_c,
    favg(relative_humidity_pct) AS relative_humidity_pct,
    min(relative_humidity_pct) AS lowest_humidity_pct,
    max(relative_humidity_pct) AS highest_humidity_pct
FROM placed
GROUP BY room, time_bucket(to_hours(hours), read_at_utc)
ORDER BY room, from_utc
