-- Must hold: readings in the means of a sheet have a row in sheet_property with the same number of readings, and so
--     have the values made of them for each test piece. Of thickness at several pressures one is published.
-- Grain: One row per sheet, direction and property that has values and no means, or means of other readings.
-- Inputs: main.reading, main.test_piece, main.sheet_property
WITH piece_value AS (
    UNPIVOT (
        SELECT sheet_id, direction, {piece_properties}
        FROM main.test_piece
        WHERE in_means
    )
    ON COLUMNS(* EXCLUDE (sheet_id, direction))
    INTO NAME property VALUE value
),

made AS (
    SELECT sheet_id, direction, property, count(*) AS n
    FROM piece_value
    GROUP BY ALL
),

counted AS (
    SELECT sheet_id, direction, property, basis, {never_pooled}, count(*) AS n
    FROM main.reading
    WHERE in_means
    GROUP BY ALL
),

without_means AS (
    SELECT counted.sheet_id, counted.direction, counted.property, counted.n, mean.n AS n_in_means
    FROM counted
    LEFT JOIN main.sheet_property AS mean
        ON counted.sheet_id = mean.sheet_id
        AND counted.property = mean.property
        AND row(counted.direction, counted.basis, {counted_never_pooled})
        IS NOT DISTINCT FROM row(mean.direction, mean.basis, {mean_never_pooled})
    WHERE counted.n IS DISTINCT FROM mean.n
    UNION ALL
    SELECT made.sheet_id, made.direction, made.property, made.n, mean.n AS n_in_means
    FROM made
    LEFT JOIN main.sheet_property AS mean
        ON made.sheet_id = mean.sheet_id
        AND made.property = mean.property
        AND made.direction = mean.direction
        AND mean.preferred
    WHERE made.n IS DISTINCT FROM mean.n
)

SELECT *
FROM without_means
WHERE NOT (
    property IN ('thickness', 'thickness_stack')
    AND n_in_means IS NULL
    AND (sheet_id, property) IN (SELECT (sheet_id, property) FROM main.sheet_property)
)
