-- Purpose: times without room readings, longer than allowed, around each sheet's tests; also for rooms without any
--     reading. A gap without a beginning or an end in the log starts at the required conditioning before the first
--     test, or ends at the last test.
-- Grain: One row per sheet, room and gap.
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

silence AS (
    SELECT
        room,
        lag(read_at_utc) OVER (PARTITION BY room ORDER BY read_at_utc) AS last_read_at_utc,
        read_at_utc AS next_read_at_utc
    FROM records.climate
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT room, max(read_at_utc), NULL
    FROM records.climate
    WHERE record_status = 'loaded'
    GROUP BY room
    UNION ALL
    SELECT DISTINCT room, NULL::TIMESTAMP, NULL::TIMESTAMP
    FROM around
    ANTI JOIN records.climate AS climate ON around.room = climate.room AND climate.record_status = 'loaded'
),

long_silence AS (
    SELECT silence.*
    FROM silence
    CROSS JOIN main.setting AS setting
    WHERE coalesce(minutes_between(silence.last_read_at_utc, silence.next_read_at_utc) > setting.longest_gap_min, TRUE)
)

SELECT
    around.sheet_id,
    around.room,
    around.from_utc,
    around.to_utc,
    coalesce(silence.last_read_at_utc, around.from_utc) AS begins_utc,
    coalesce(silence.next_read_at_utc, around.to_utc) AS ends_utc,
    greatest(begins_utc, around.from_utc) AS drawn_from_utc,
    least(ends_utc, around.to_utc) AS drawn_to_utc,
    minutes_between(begins_utc, ends_utc) AS gap_min
FROM around
INNER JOIN long_silence AS silence
    ON around.room = silence.room
    AND coalesce(silence.last_read_at_utc, around.from_utc) < around.to_utc
    AND coalesce(silence.next_read_at_utc, around.to_utc) > around.from_utc
CROSS JOIN main.setting AS setting
WHERE gap_min > setting.longest_gap_min
ORDER BY around.sheet_id, around.room, begins_utc
