-- Must hold: every loaded conditioned weighing, oven-dry pair, thickness reading and tensile test of a known sheet
--     has
--     one verdict on its atmosphere, and nothing else has.
-- Grain: One row per kind of which the counts disagree.
-- Inputs: records.basis_weight, records.moisture, records.thickness, tensile_curve_match.tensile_piece, main.sheet,
--     main.test_atmosphere
WITH record AS (
    SELECT 'basis_weight' AS kind, sheet_id
    FROM records.basis_weight
    WHERE record_status = 'loaded' AND state = 'conditioned'
    UNION ALL
    SELECT 'moisture', sheet_id
    FROM records.moisture
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'thickness', sheet_id
    FROM records.thickness
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'tensile', sheet_id
    FROM (SELECT DISTINCT sheet_id, file_hash, line_number, tested_at_utc FROM tensile_curve_match.tensile_piece)
),

of_known_sheets AS (
    SELECT
        record.kind,
        count(*) AS n_records
    FROM record
    INNER JOIN main.sheet AS sheet ON record.sheet_id = sheet.sheet_id
    GROUP BY record.kind
),

compliance AS (
    SELECT
        kind,
        count(*) AS n_verdicts
    FROM main.test_atmosphere
    GROUP BY kind
)

SELECT
    of_known_sheets.kind,
    of_known_sheets.n_records,
    compliance.n_verdicts
FROM of_known_sheets
FULL JOIN compliance ON of_known_sheets.kind = compliance.kind
WHERE of_known_sheets.n_records IS DISTINCT FROM compliance.n_verdicts
