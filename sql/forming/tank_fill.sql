-- Purpose: the fills of the tanks and their times. A fill begins when a drained tank is filled or another furnish is
--     added; more of the same furnish tops it up; it ends when the tank is drained or the next fill begins. A fill of
--     another furnish than the fill before carries that furnish over unless the tank was both drained and cleaned in
--     between.
-- Grain: One row per fill of a tank.
-- Inputs: records.tank
WITH event AS (
    SELECT
        tank,
        event,
        happened_at_utc,
        furnish,
        volume_l,
        count(*) FILTER (WHERE event = 'drained') OVER up_to_here AS drainings,
        count(*) FILTER (WHERE event = 'cleaned') OVER up_to_here AS cleanings,
        min(happened_at_utc) FILTER (WHERE event = 'drained') OVER from_here_on AS drained_at_utc
    FROM records.tank
    WHERE record_status = 'loaded'
    WINDOW
        up_to_here AS (
            PARTITION BY tank
            ORDER BY happened_at_utc, event = 'filled', event
            ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
        ),
        from_here_on AS (
            PARTITION BY tank
            ORDER BY happened_at_utc, event = 'filled', event
            ROWS BETWEEN CURRENT ROW AND UNBOUNDED FOLLOWING
        )
),

filling AS (
    SELECT
        tank,
        happened_at_utc,
        furnish,
        volume_l,
        drained_at_utc,
        lag(furnish) OVER by_time AS previous_furnish,
        drainings > lag(drainings) OVER by_time AS drained_before,
        cleanings > lag(cleanings) OVER by_time AS cleaned_before
    FROM event
    WHERE event = 'filled'
    WINDOW by_time AS (PARTITION BY tank ORDER BY happened_at_utc)
),

numbered AS (
    SELECT
        *,
        count(*) FILTER (WHERE drained_before IS NOT FALSE OR furnish IS DISTINCT FROM previous_furnish)
            OVER (PARTITION BY tank ORDER BY happened_at_utc) AS fill_no
    FROM filling
),

fill AS (
    SELECT
        tank,
        fill_no,
        min(furnish) AS furnish,
        min(happened_at_utc) AS filled_at_utc,
        min(drained_at_utc) AS drained_at_utc,
        CASE WHEN count(*) = count(volume_l) THEN sum(volume_l) END AS filled_l,
        first(previous_furnish ORDER BY happened_at_utc) AS previous_furnish,
        first(drained_before ORDER BY happened_at_utc) AS drained_before,
        first(cleaned_before ORDER BY happened_at_utc) AS cleaned_before
    FROM numbered
    GROUP BY tank, fill_no
)

SELECT
    tank,
    fill_no,
    furnish,
    previous_furnish,
    filled_at_utc,
    least(drained_at_utc, lead(filled_at_utc) OVER (PARTITION BY tank ORDER BY fill_no)) AS ended_at_utc,
    filled_l,
    drained_before,
    cleaned_before,
    CASE
        WHEN fill_no = 1 OR (drained_before AND cleaned_before) THEN FALSE
        ELSE furnish <> previous_furnish
    END AS carry_over
FROM fill
