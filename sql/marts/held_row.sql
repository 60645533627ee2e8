-- Purpose: everything that is held, with what to do about it: at reading, or later because it contradicts a
--     record of its sheet.
-- Grain: One row per reason that a line, or without a line number a whole file, is held.
-- Inputs: ledger.reason, ledger.later_reason, ledger.received_file
WITH reasons AS (
    SELECT * FROM ledger.reason
    UNION ALL BY NAME
    SELECT * FROM ledger.later_reason
)

SELECT
    reasons.*,
    file.file_name,
    file.profile
FROM reasons
INNER JOIN ledger.received_file AS file ON reasons.file_hash = file.file_hash
