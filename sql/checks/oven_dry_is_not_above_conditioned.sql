-- Must hold: a sheet's oven-dry grammage does not exceed its conditioned one where one follows from the
--     other.
-- Grain: One row per sheet that breaks it.
-- Inputs: main.sheet
SELECT
    sheet_id,
    grammage_oven_dry_g_m2,
    grammage_conditioned_g_m2
FROM main.sheet
WHERE
    grammage_oven_dry_g_m2 > grammage_conditioned_g_m2
    AND (grammage_oven_dry_derived OR grammage_conditioned_derived)
