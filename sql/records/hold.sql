-- Purpose: mark the records of a kind that a reason of the ledger holds after they were stored.
-- Grain: One row per record held, changed in place.
-- Inputs: records.{kind}, ledger.later_reason. {kind} stands for the name of a kind of record.
UPDATE records.{kind} AS record
SET fate = 'held'
FROM ledger.later_reason AS reason
WHERE record.file_hash = reason.file_hash AND record.line_number = reason.line_number
