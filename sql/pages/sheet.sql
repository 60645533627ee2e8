-- Purpose: every sheet with its neighbours in its trial and the other values on its page; also the sheet numbers
--     that are in tests only, with suggested sheets.
-- Grain: One row per sheet number.
-- Inputs: main.sheet, main.unmatched_test
WITH made AS (
    SELECT
        sheet_id,
        trial,
        trial_point,
        formed_at_utc,
        n_layers,
        carry_over,
        furnish_differs_from_tank,
        grammage_conditioned_g_m2,
        grammage_conditioned_derived,
        grammage_oven_dry_g_m2,
        grammage_oven_dry_derived,
        grammage_as_received_g_m2,
        moisture_pct,
        moisture_origin,
        moisture_warning,
        retention_pct,
        thickness_pressure_kpa,
        thickness_stack_pressure_kpa,
        lag(sheet_id) OVER in_trial AS sheet_before,
        lead(sheet_id) OVER in_trial AS sheet_after
    FROM main.sheet
    WINDOW in_trial AS (PARTITION BY trial ORDER BY formed_at_utc ASC NULLS LAST, sheet_id ASC)
),

only_tested AS (
    SELECT
        sheet_id,
        count(*) AS n_unmatched,
        any_value(suggested_sheet_id) AS suggested_sheet_id,
        any_value(suggestion_reason) AS suggestion_reason
    FROM main.unmatched_test
    WHERE sheet_id IS NOT NULL
    GROUP BY sheet_id
)

SELECT
    coalesce(made.sheet_id, only_tested.sheet_id) AS sheet_id,
    made.sheet_id IS NOT NULL AS in_log,
    made.* EXCLUDE (sheet_id),
    only_tested.* EXCLUDE (sheet_id)
FROM made
FULL JOIN only_tested ON made.sheet_id = only_tested.sheet_id
ORDER BY made.trial, made.formed_at_utc, 1
