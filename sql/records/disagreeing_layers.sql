-- Purpose: find the loaded forming records of sheets whose layers belong to more than one trial or trial point.
-- Grain: One row per layer of such a sheet.
-- Inputs: records.forming
SELECT
    file_hash,
    line_number,
    record_key,
    'The layers of sheet ' || sheet_id || ' belong to different trial points: '
    || string_agg(DISTINCT trial || ', ' || trial_point, '; ') OVER (PARTITION BY sheet_id) || '.' AS what
FROM records.forming
WHERE record_status = 'loaded'
QUALIFY
    min(concat(trial, chr(31), trial_point)) OVER (PARTITION BY sheet_id)
    <> max(concat(trial, chr(31), trial_point)) OVER (PARTITION BY sheet_id)
