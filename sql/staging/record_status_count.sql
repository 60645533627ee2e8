-- Purpose: count the lines of each file by the status of the records stored from them. A tensile curve counts
--     the lines of its points.
-- Grain: One row per file with stored rows.
-- Inputs: every kind of record
WITH record AS (
    {every_record}
)

SELECT
    file_hash,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'loaded'), 0)::BIGINT AS loaded,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'repeated'), 0)::BIGINT AS repeated,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'superseded'), 0)::BIGINT AS superseded,
    coalesce(sum(n_lines) FILTER (WHERE record_status = 'held'), 0)::BIGINT AS held
FROM record
GROUP BY file_hash
