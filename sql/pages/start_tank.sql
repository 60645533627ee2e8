-- Purpose: the tank fillings with carry-over, or with more drawn than filled in, the newest first.
-- Grain: One row per fill of a tank.
-- Inputs: main.tank_fill
SELECT
    tank,
    filled_at_utc,
    furnish,
    previous_furnish,
    coalesce(carry_over, FALSE) AS carry_over,
    n_layers,
    filled_l,
    drawn_l,
    overdrawn_l
FROM main.tank_fill
WHERE carry_over OR overdrawn_l > 0
ORDER BY filled_at_utc DESC, tank
