-- Purpose: mark stored records of a kind as on hold because they contradict others.
-- Grain: One row per record put on hold, changed in place.
-- Inputs: records.{kind}; the parameters file_hashes and record_keys, which name the records. {kind} is the name of a
--     kind of record.
UPDATE records.{kind} AS record
SET
    record_status = 'held',
    superseded_by = NULL
FROM (SELECT unnest($file_hashes::VARCHAR[]) AS file_hash, unnest($record_keys::VARCHAR[]) AS record_key) AS named
WHERE record.file_hash = named.file_hash AND record.record_key = named.record_key
