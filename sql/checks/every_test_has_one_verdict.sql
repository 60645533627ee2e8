-- Must hold: every loaded conditioned weighing, oven-dry pair, thickness reading and tensile test of a known sheet has
--     one verdict on its atmosphere, and nothing else has.
-- Grain: One row per kind of which the counts disagree.
-- Inputs: records.basis_weight, records.moisture, records.thickness, paired.tensile_piece, main.sheet,
--     main.test_atmosphere
WITH record AS (
    SELECT 'basis_weight' AS kind, sheet_id
    FROM records.basis_weight
    WHERE fate = 'loaded' AND state = 'conditioned'
    UNION ALL
    SELECT 'moisture', sheet_id
    FROM records.moisture
    WHERE fate = 'loaded'
    UNION ALL
    SELECT 'thickness', sheet_id
    FROM records.thickness
    WHERE fate = 'loaded'
    UNION ALL
    SELECT 'tensile', sheet_id
    FROM (SELECT DISTINCT sheet_id, file_hash, line_number, tested_at_utc FROM paired.tensile_piece)
),

of_known_sheets AS (
    SELECT
        record.kind,
        count(*) AS n_records
    FROM record
    INNER JOIN main.sheet AS sheet ON record.sheet_id = sheet.sheet_id
    GROUP BY record.kind
),

judged AS (
    SELECT
        kind,
        count(*) AS n_verdicts
    FROM main.test_atmosphere
    GROUP BY kind
)

SELECT
    of_known_sheets.kind,
    of_known_sheets.n_records,
    judged.n_verdicts
FROM of_known_sheets
FULL JOIN judged ON of_known_sheets.kind = judged.kind
WHERE of_known_sheets.n_records IS DISTINCT FROM judged.n_verdicts
