-- Purpose: the tests whose result depends on the atmosphere, each with its verdict.
-- Grain: One row per such test of a known sheet.
-- Inputs: atmosphere.verdict, forming.sheet
SELECT
    test.*,
    sheet.trial,
    sheet.trial_point
FROM atmosphere.verdict AS test
INNER JOIN forming.sheet AS sheet ON test.sheet_id = sheet.sheet_id
