-- Must hold: a layer of a sheet has one loaded forming record.
-- Grain: One row per layer that has more.
-- Inputs: records.forming
SELECT
    sheet_id,
    layer_no,
    count(*) AS n_records
FROM records.forming
WHERE record_status = 'loaded'
GROUP BY sheet_id, layer_no
HAVING count(*) > 1
