-- Purpose: mark the stored records of a kind that ledger.cross_record_rejection holds.
-- Grain: One row per record put on hold, changed in place.
-- Inputs: records.{kind}, ledger.cross_record_rejection. {kind} is the name of a kind of record.
UPDATE records.{kind} AS record
SET record_status = 'held'
FROM ledger.cross_record_rejection AS reason
WHERE record.file_hash = reason.file_hash AND record.line_number = reason.line_number
