-- Purpose: mark the records of a kind that a reason of the ledger holds after they were stored.
-- Grain: One row per record held, changed in place.
-- Inputs: records.{kind}, ledger.cross_record_rejection. {kind} stands for the name of a kind of record.
UPDATE records.{kind} AS record
SET record_status = 'held'
FROM ledger.cross_record_rejection AS reason
WHERE record.file_hash = reason.file_hash AND record.line_number = reason.line_number
