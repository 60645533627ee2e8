-- Purpose: the tests whose result depends on the atmosphere, each with its verdict.
-- Grain: One row per such test of a known sheet.
-- Inputs: atmosphere_compliance.climate_test, staging.sheet
SELECT
    test.*,
    sheet.trial,
    sheet.trial_point
FROM atmosphere_compliance.climate_test AS test
INNER JOIN staging.sheet AS sheet ON test.sheet_id = sheet.sheet_id
