-- Purpose: count the lines of each file by what became of the records stored from them. A tensile curve stands for
--     the lines of its points.
-- Grain: One row per file of which rows were stored.
-- Inputs: records.basis_weight, records.climate, records.conditioning, records.drying, records.forming,
--     records.furnish, records.moisture, records.pressing, records.recipe, records.tank, records.tensile,
--     records.tensile_curve, records.thickness
WITH fates AS (
    SELECT file_hash, record_status, 1 AS n_lines FROM records.basis_weight
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.climate
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.conditioning
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.drying
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.forming
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.furnish
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.moisture
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.pressing
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.recipe
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.tank
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.tensile
    UNION ALL
    SELECT file_hash, record_status, n_lines FROM records.tensile_curve
    UNION ALL
    SELECT file_hash, record_status, 1 FROM records.thickness
)

SELECT
    file_hash,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'loaded'), 0)::BIGINT AS loaded,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'repeated'), 0)::BIGINT AS repeated,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'superseded'), 0)::BIGINT AS superseded,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'held'), 0)::BIGINT AS held
FROM fates
GROUP BY file_hash
