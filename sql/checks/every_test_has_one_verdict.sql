-- Must hold: every loaded test of a known sheet whose result depends on the air has one verdict on its atmosphere,
--     and nothing else has.
-- Grain: One row per kind with different counts.
-- Inputs: atmosphere.sheet_record, main.sheet, main.test_atmosphere
WITH of_known_sheets AS (
    SELECT
        record.kind,
        count(*) AS n_records
    FROM atmosphere.sheet_record AS record
    INNER JOIN main.sheet AS sheet ON record.sheet_id = sheet.sheet_id
    WHERE record.needs_atmosphere
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
