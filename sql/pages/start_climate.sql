-- Purpose: the tests that were not made in the standard atmosphere, or whose climate record is incomplete, by
--     reason; with the newest as the example and up to 8 of the sheets.
-- Grain: One row per verdict, code of the reason, and whether the settings admit the verdict.
-- Inputs: main.test_atmosphere
SELECT
    verdict,
    reason_code,
    admitted,
    arg_max(reason, (tested_at_utc, sheet_id, line_number)) AS reason,
    count(DISTINCT reason) AS n_reasons,
    string_agg(DISTINCT kind, ', ' ORDER BY kind) AS kinds,
    min(tested_at_utc) AS first_tested_at_utc,
    max(tested_at_utc) AS last_tested_at_utc,
    count(*) AS n_tests,
    count(DISTINCT sheet_id) AS n_sheets,
    list(DISTINCT sheet_id ORDER BY sheet_id)[:8] AS sheets
FROM main.test_atmosphere
WHERE verdict <> 'standard'
GROUP BY verdict, reason_code, admitted
ORDER BY admitted, n_tests DESC, verdict, reason_code
