-- Purpose: the names of the contributions to an uncertainty, for each combination of the bits in known_parts of
--     value.sheet_value and value.point_value. To name the combinations here once costs less than to name them for each
--     property of each sheet.
-- Grain: One row per combination.
-- Inputs: none
SELECT
    combination.known_parts::INTEGER AS known_parts,
    nullif(
        concat_ws(
            ', ',
            CASE WHEN combination.known_parts & 1 > 0 THEN 'scatter' END,
            CASE WHEN combination.known_parts & 2048 > 0 THEN 'scatter between sheets' END,
            CASE WHEN combination.known_parts & 2 > 0 THEN 'scatter of grammage' END,
            CASE WHEN combination.known_parts & 4 > 0 THEN 'scatter of moisture' END,
            CASE WHEN combination.known_parts & 8 > 0 THEN 'scatter of thickness' END,
            CASE WHEN combination.known_parts & 16 > 0 THEN 'force' END,
            CASE WHEN combination.known_parts & 32 > 0 THEN 'elongation' END,
            CASE WHEN combination.known_parts & 64 > 0 THEN 'width' END,
            CASE WHEN combination.known_parts & 128 > 0 THEN 'span' END,
            CASE WHEN combination.known_parts & 4096 > 0 THEN 'tester' END,
            CASE WHEN combination.known_parts & 256 > 0 THEN 'grammage' END,
            CASE WHEN combination.known_parts & 512 > 0 THEN 'moisture' END,
            CASE WHEN combination.known_parts & 1024 > 0 THEN 'thickness' END
        ),
        ''
    ) AS uncertainty_of
FROM range(8192) AS combination (known_parts)
