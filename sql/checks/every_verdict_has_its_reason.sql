-- Must hold: a verdict other than standard has a reason, and every reason has a code.
-- Grain: One row per test without one.
-- Inputs: main.test_atmosphere
SELECT
    kind,
    sheet_id,
    file_hash,
    line_number,
    verdict,
    reason_code,
    reason
FROM main.test_atmosphere
WHERE (verdict <> 'standard' AND reason IS NULL)
    OR (reason IS NULL) <> (reason_code IS NULL)
