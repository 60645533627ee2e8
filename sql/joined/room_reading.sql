-- Purpose: the readings of the rooms' loggers against the limits, each with what a test after it needs to know: the
--     last reading out of limits and the last gap up to it, and when the next reading came. With an averaging time
--     the mean of the readings of that time up to and with each is held against the limits, else each by itself.
--     A time before the first reading, or between two readings further apart than allowed, is a gap.
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
    WHERE climate.fate = 'loaded'
),

judged AS (
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
    FROM judged
    WINDOW by_time AS (PARTITION BY room ORDER BY read_at_utc)
),

classified AS (
    SELECT
        in_order.*,
        round(temperature_c, 9) NOT BETWEEN setting.lowest_temperature_c AND setting.highest_temperature_c
        OR round(relative_humidity_pct, 9) NOT BETWEEN setting.lowest_humidity_pct AND setting.highest_humidity_pct
            AS is_out,
        coalesce(minutes_between(previous_at_utc, read_at_utc) > setting.longest_gap_min, TRUE) AS ends_gap
    FROM in_order
    CROSS JOIN main.setting AS setting
)

SELECT
    room,
    read_at_utc,
    temperature_c,
    relative_humidity_pct,
    next_at_utc,
    max(read_at_utc) FILTER (WHERE is_out) OVER up_to_here AS last_out_at_utc,
    max(previous_at_utc) FILTER (WHERE ends_gap) OVER up_to_here AS last_gap_from_utc,
    max(read_at_utc) FILTER (WHERE ends_gap) OVER up_to_here AS last_gap_to_utc
FROM classified
WINDOW up_to_here AS (
    PARTITION BY room
    ORDER BY read_at_utc
    ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
)
