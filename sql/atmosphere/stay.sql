-- Purpose: the room of each sheet and the time at which it was brought in. The room is NULL where a sheet is recorded
--     in several rooms at the same time.
-- Grain: One row per sheet and time it was brought in.
-- Inputs: records.conditioning
SELECT
    sheet_id,
    in_at_utc,
    CASE WHEN count(*) = 1 THEN min(room) END AS room,
    string_agg(room, ', ' ORDER BY room) AS rooms,
    min(out_at_utc) AS out_at_utc,
    min(preconditioned) AS preconditioned
FROM records.conditioning
WHERE record_status = 'loaded'
GROUP BY sheet_id, in_at_utc
