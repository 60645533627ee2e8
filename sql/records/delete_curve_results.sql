-- Purpose: delete the results of curves that no longer count, and those computed with other settings.
-- Grain: One row per curve result deleted.
-- Inputs: ledger.curve_result, records.tensile_curve; the parameter reduced_under
DELETE FROM ledger.curve_result AS result
WHERE
    result.reduced_under <> $reduced_under
    OR NOT EXISTS (
        SELECT 1
        FROM records.tensile_curve AS curve
        WHERE
            curve.record_key = result.record_key
            AND curve.record_digest = result.record_digest
            AND curve.record_status = 'loaded'
    )
