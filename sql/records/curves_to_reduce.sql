-- Purpose: a batch of loaded curves without a result.
-- Grain: One row per curve.
-- Inputs: records.tensile_curve, ledger.curve_result; the parameter at_once
SELECT
    curve.record_key,
    curve.record_digest,
    curve.n_points,
    curve.elongation_mm,
    curve.force_n
FROM records.tensile_curve AS curve
ANTI JOIN ledger.curve_result AS result ON curve.record_key = result.record_key
WHERE curve.record_status = 'loaded'
ORDER BY curve.record_key
LIMIT $at_once
