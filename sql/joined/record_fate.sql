-- Purpose: count what became of the rows stored from each file.
-- Grain: One row per file of which rows were stored.
-- Inputs: records.basis_weight, records.drying, records.forming, records.furnish, records.moisture,
--     records.pressing, records.recipe, records.tank, records.tensile, records.thickness
WITH fates AS (
    SELECT file_hash, fate FROM records.basis_weight
    UNION ALL
    SELECT file_hash, fate FROM records.drying
    UNION ALL
    SELECT file_hash, fate FROM records.forming
    UNION ALL
    SELECT file_hash, fate FROM records.furnish
    UNION ALL
    SELECT file_hash, fate FROM records.moisture
    UNION ALL
    SELECT file_hash, fate FROM records.pressing
    UNION ALL
    SELECT file_hash, fate FROM records.recipe
    UNION ALL
    SELECT file_hash, fate FROM records.tank
    UNION ALL
    SELECT file_hash, fate FROM records.tensile
    UNION ALL
    SELECT file_hash, fate FROM records.thickness
)

SELECT
    file_hash,
    count(*) FILTER (WHERE fate = 'loaded') AS loaded,
    count(*) FILTER (WHERE fate = 'repeated') AS repeated,
    count(*) FILTER (WHERE fate = 'superseded') AS superseded,
    count(*) FILTER (WHERE fate = 'held') AS held
FROM fates
GROUP BY file_hash
