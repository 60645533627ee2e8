-- Purpose: the names of the warnings on a value, for each combination of the bits in value.sheet_value: in the order
--     of the bits, and in alphabetical order.
-- Grain: One row per combination.
-- Inputs: none
WITH combination AS (
    SELECT
        flags::INTEGER AS flags,
        list_filter(
            [
                CASE WHEN flags & 1 > 0 THEN 'readings_left_out' END,
                CASE WHEN flags & 2 > 0 THEN 'derived_grammage' END,
                CASE WHEN flags & 4 > 0 THEN 'moisture_of_trial_point' END,
                CASE WHEN flags & 8 > 0 THEN 'odd_moisture' END,
                CASE WHEN flags & 16 > 0 THEN 'carry_over' END,
                CASE WHEN flags & 32 > 0 THEN 'furnish_differs_from_tank' END
            ],
            LAMBDA name: name IS NOT NULL
        ) AS names
    FROM range(64) AS every (flags)
)

SELECT
    flags,
    nullif(array_to_string(names, ','), '') AS in_order,
    nullif(array_to_string(list_sort(names), ','), '') AS in_alphabetical_order
FROM combination
