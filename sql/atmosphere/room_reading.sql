-- Purpose: the readings of the rooms' loggers: whether each is out of limits, whether it ends a gap, and the times of
--     the readings before and after it. With an averaging time, the mean of the readings within that time up to each
--     reading is compared with the limits, otherwise each reading by itself. Two readings further apart than allowed
--     have a gap between them; the time before the first reading is a gap.
-- Grain: One row per reading that counts.
-- Inputs: records.climate, main.setting
WITH recorded AS (
    SELECT
        climate.room,
        climate.read_at_utc,
        climate.temperature_c,
        climate.relative_humidity_pct,
        setting.averaging_min > 0 AS is_averaged,
        to_seconds(60 * setting.averaging_min) AS averaging_time
    FROM records.climate AS climate
    CROSS JOIN main.setting AS setting
    WHERE climate.record_status = 'loaded'
),

compliance AS (
    SELECT room, read_at_utc, temperature_c, relative_humidity_pct
    FROM recorded
    WHERE NOT is_averaged
    UNION ALL
    SELECT
        room,
        read_at_utc,
        avg(temperature_c) OVER recent,
        avg(relative_humidity_pct) OVER recent
    FROM recorded
    WHERE is_averaged
    WINDOW recent AS (
        PARTITION BY room
        ORDER BY read_at_utc
        RANGE BETWEEN averaging_time PRECEDING AND CURRENT ROW
    )
),

in_order AS (
    SELECT
        room,
        read_at_utc,
        temperature_c,
        relative_humidity_pct,
        lag(read_at_utc) OVER by_time AS previous_at_utc,
        lead(read_at_utc) OVER by_time AS next_at_utc
    FROM compliance
    WINDOW by_time AS (PARTITION BY room ORDER BY read_at_utc)
)

SELECT
    in_order.*,
    round(temperature_c, 9) NOT BETWEEN setting.lowest_temperature_c AND setting.highest_temperature_c
    OR round(relative_humidity_pct, 9) NOT BETWEEN setting.lowest_humidity_pct AND setting.highest_humidity_pct
        AS is_out,
    coalesce(minutes_between(previous_at_utc, read_at_utc) > setting.longest_gap_min, TRUE) AS ends_gap
FROM in_order
CROSS JOIN main.setting AS setting
