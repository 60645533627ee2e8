-- Purpose: everything on hold, with what to do: since it was read, or later because it contradicts another record of
--     its sheet.
-- Grain: One row per reason that a line is on hold, or a whole file: then without a line number.
-- Inputs: ledger.reason, ledger.cross_record_rejection, ledger.received_file, ledger.in_inbox
WITH reasons AS (
    SELECT * FROM ledger.reason
    UNION ALL BY NAME
    SELECT * FROM ledger.cross_record_rejection
)

SELECT
    reasons.*,
    file.file_name,
    file.profile,
    inbox.file_hash IS NOT NULL AS in_inbox
FROM reasons
INNER JOIN ledger.received_file AS file ON reasons.file_hash = file.file_hash
LEFT JOIN ledger.in_inbox AS inbox ON reasons.file_hash = inbox.file_hash
