-- Purpose: the tests that were not proven to be made in the chosen atmosphere, the newest first. Reasons that differ
--     in
--     their numbers only stand together, with the first of them as the example, and up to 8 of the sheets.
-- Grain: One row per day, room, verdict and wording of the reason.
-- Inputs: main.test_atmosphere
WITH told AS (
    SELECT
        *,
        regexp_replace(reason, '[0-9]+([.:-][0-9]+)*', '#', 'g') AS wording
    FROM main.test_atmosphere
    WHERE verdict <> 'standard'
)

SELECT
    date_trunc('day', tested_at_utc)::DATE AS tested_on,
    room,
    verdict,
    admitted,
    arg_min(reason, (tested_at_utc, sheet_id, line_number)) AS reason,
    count(DISTINCT reason) AS n_reasons,
    string_agg(DISTINCT kind, ', ' ORDER BY kind) AS kinds,
    count(*) AS n_tests,
    count(DISTINCT sheet_id) AS n_sheets,
    list(DISTINCT sheet_id ORDER BY sheet_id)[:8] AS sheets
FROM told
GROUP BY date_trunc('day', tested_at_utc)::DATE, room, verdict, admitted, wording
ORDER BY tested_on DESC NULLS LAST, room NULLS LAST, verdict, n_tests DESC, reason
