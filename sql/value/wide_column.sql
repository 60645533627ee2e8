-- Purpose: the columns of wide tables in which the value and the standard deviation of a property stand.
-- Grain: One row per property and direction.
-- Inputs: none
SELECT property, direction, value_column, s_column
FROM (
    VALUES
    {wide_columns}
) AS entry (property, direction, value_column, s_column)
