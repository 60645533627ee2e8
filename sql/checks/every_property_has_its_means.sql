-- Must hold: a property with valid test pieces of a sheet has a row in sheet_property with the same number of readings.
-- Grain: One row per sheet, direction and property that has values and no means, or means of other readings.
-- Inputs: main.test_piece, main.sheet_property, staging.property
WITH piece_value AS (
    UNPIVOT (
        SELECT sheet_id, direction, {piece_columns}
        FROM main.test_piece
        WHERE in_means
    )
    ON COLUMNS(* EXCLUDE (sheet_id, direction))
    INTO NAME piece_column VALUE value
),

counted AS (
    SELECT
        piece_value.sheet_id,
        piece_value.direction,
        property.property,
        count(*) AS n
    FROM piece_value
    INNER JOIN staging.property AS property
        ON piece_value.piece_column = concat_ws('_', property.property, property.suffix)
    GROUP BY ALL
)

SELECT
    counted.*,
    mean.n AS n_in_means
FROM counted
LEFT JOIN main.sheet_property AS mean
    ON counted.sheet_id = mean.sheet_id
    AND counted.direction = mean.direction
    AND counted.property = mean.property
    AND mean.preferred
WHERE counted.n IS DISTINCT FROM mean.n
