-- Purpose: the raw curves with findings, or that disagree with the tester, the newest first.
-- Grain: One row per raw tensile curve.
-- Inputs: main.tensile_curve_result, main.sheet
SELECT
    curve.sheet_id,
    sheet.sheet_id IS NOT NULL AS in_forming_log,
    curve.direction,
    curve.specimen_no,
    curve.replicate_no,
    curve.tester,
    curve.tested_at_utc,
    curve.usable,
    curve.findings,
    curve.disagreement
FROM main.tensile_curve_result AS curve
LEFT JOIN main.sheet AS sheet ON curve.sheet_id = sheet.sheet_id
WHERE curve.findings IS NOT NULL OR curve.disagreement IS NOT NULL
ORDER BY
    curve.tested_at_utc DESC NULLS LAST, curve.sheet_id, curve.direction DESC, curve.specimen_no, curve.replicate_no
