-- Purpose: the logged evidence on the atmosphere of each test of a known sheet: the stay that contains the test, the
--     last reading before it, and the last out-of-limits reading and the last gap within the hours that count. Those
--     hours are the required conditioning time before the test, or the stay where it is shorter. A gap counts in full
--     if any part of it lies within them; a gap without an end in the log lasts until the test.
-- Grain: One row per test.
-- Inputs: atmosphere.sheet_record, atmosphere.stay, atmosphere.required_stay, atmosphere.room_reading,
--     atmosphere.mass_change, main.setting
WITH test AS (
    SELECT kind, record_key, sheet_id, file_hash, line_number, at_utc AS tested_at_utc, timed_at_utc
    FROM atmosphere.sheet_record
    WHERE needs_atmosphere
),

placed AS (
    SELECT
        test.*,
        required.required_stay_h,
        stay.room,
        stay.rooms,
        stay.in_at_utc,
        stay.out_at_utc,
        stay.preconditioned,
        minutes_between(stay.in_at_utc, test.timed_at_utc) / 60 AS stayed_h,
        greatest(stay.in_at_utc, test.timed_at_utc - to_seconds(3600 * required.required_stay_h)) AS from_utc
    FROM test
    INNER JOIN atmosphere.required_stay AS required ON test.sheet_id = required.sheet_id
    ASOF LEFT JOIN atmosphere.stay AS stay
        ON test.sheet_id = stay.sheet_id
        AND test.timed_at_utc >= stay.in_at_utc
),

read AS (
    SELECT
        placed.*,
        reading.read_at_utc,
        reading.temperature_c,
        reading.relative_humidity_pct,
        CASE WHEN out_reading.read_at_utc >= placed.from_utc THEN out_reading.read_at_utc END AS out_reading_at_utc,
        out_reading.temperature_c AS out_temperature_c,
        out_reading.relative_humidity_pct AS out_relative_humidity_pct,
        CASE
            WHEN reading.read_at_utc IS NULL
                THEN { 'from_utc': placed.from_utc, 'to_utc': NULL }
            WHEN
                reading.read_at_utc < placed.timed_at_utc
                AND minutes_between(reading.read_at_utc, coalesce(reading.next_at_utc, placed.timed_at_utc))
                > setting.longest_gap_min
                THEN { 'from_utc': reading.read_at_utc, 'to_utc': reading.next_at_utc }
            WHEN
                gap_end.read_at_utc > placed.from_utc
                AND minutes_between(coalesce(gap_end.previous_at_utc, placed.from_utc), gap_end.read_at_utc)
                > setting.longest_gap_min
                THEN {
                    'from_utc': coalesce(gap_end.previous_at_utc, placed.from_utc),
                    'to_utc': gap_end.read_at_utc
                }
        END AS gap
    FROM placed
    ASOF LEFT JOIN atmosphere.room_reading AS reading
        ON placed.room = reading.room
        AND placed.timed_at_utc >= reading.read_at_utc
    ASOF LEFT JOIN (FROM atmosphere.room_reading WHERE is_out) AS out_reading
        ON placed.room = out_reading.room
        AND placed.timed_at_utc >= out_reading.read_at_utc
    ASOF LEFT JOIN (FROM atmosphere.room_reading WHERE ends_gap) AS gap_end
        ON placed.room = gap_end.room
        AND placed.timed_at_utc >= gap_end.read_at_utc
    CROSS JOIN main.setting AS setting
),

last_change AS (
    SELECT
        test.kind,
        test.record_key,
        test.file_hash,
        change.mass_change_pct,
        change.after_min
    FROM test
    INNER JOIN atmosphere.mass_change AS change
        ON test.sheet_id = change.sheet_id
        AND test.timed_at_utc >= change.weighed_at_utc
    QUALIFY row_number() OVER (
        PARTITION BY test.kind, test.record_key, test.file_hash, change.tester, change.specimen_no
        ORDER BY change.weighed_at_utc DESC
    ) = 1
),

greatest_change AS (
    SELECT
        kind,
        record_key,
        file_hash,
        arg_max({ 'mass_change_pct': mass_change_pct, 'after_min': after_min }, abs(mass_change_pct)) AS change
    FROM last_change
    GROUP BY kind, record_key, file_hash
)

SELECT
    read.*,
    greatest_change.change.mass_change_pct AS mass_change_pct,
    greatest_change.change.after_min AS mass_change_after_min
FROM read
LEFT JOIN greatest_change
    ON read.file_hash = greatest_change.file_hash
    AND read.record_key = greatest_change.record_key
    AND read.kind = greatest_change.kind
