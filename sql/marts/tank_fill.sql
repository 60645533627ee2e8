-- Purpose: the fills of the tanks, their times, and the stock that layers used of them.
-- Grain: One row per fill of a tank.
-- Inputs: forming.tank_fill, forming.layer
WITH drawn AS (
    SELECT
        tank,
        tank_fill_no AS fill_no,
        count(*) AS n_layers,
        sum(stock_volume_l) AS drawn_l
    FROM forming.layer
    WHERE tank_fill_had_ended IS NOT TRUE
    GROUP BY tank, tank_fill_no
)

SELECT
    fill.tank,
    fill.fill_no,
    fill.furnish,
    fill.previous_furnish,
    fill.filled_at_utc,
    fill.ended_at_utc,
    fill.carry_over,
    fill.filled_l,
    coalesce(drawn.n_layers, 0) AS n_layers,
    coalesce(drawn.drawn_l, 0) AS drawn_l,
    CASE WHEN fill.filled_l IS NOT NULL THEN greatest(coalesce(drawn.drawn_l, 0) - fill.filled_l, 0) END AS overdrawn_l
FROM forming.tank_fill AS fill
LEFT JOIN drawn
    ON fill.tank = drawn.tank
    AND fill.fill_no = drawn.fill_no
