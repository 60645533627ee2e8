-- Purpose: the conditioning time that each sheet requires before a test, by its grammage: the mean of its weighed
--     pieces in any state, else the target grammage. Without a grammage the longest time in the settings is required.
-- Grain: One row per sheet of the forming log.
-- Inputs: records.forming, records.basis_weight, main.setting
WITH class AS (
    SELECT
        unnest(stay_from_grammage_g_m2) AS from_grammage_g_m2,
        unnest(stay_h) AS stay_h
    FROM main.setting
),

weighed AS (
    SELECT
        sheet_id,
        favg(coalesce(grammage_g_m2(mass_g, coalesce(area_mm2, length_mm * width_mm)), grammage_g_m2)) AS grammage_g_m2
    FROM records.basis_weight
    WHERE record_status = 'loaded'
    GROUP BY sheet_id
),

aimed AS (
    SELECT
        sheet_id,
        max(target_grammage_g_m2) AS target_grammage_g_m2
    FROM records.forming
    WHERE record_status = 'loaded'
    GROUP BY sheet_id
),

sheet AS (
    SELECT
        aimed.sheet_id,
        coalesce(weighed.grammage_g_m2, aimed.target_grammage_g_m2) AS grammage_g_m2
    FROM aimed
    LEFT JOIN weighed ON aimed.sheet_id = weighed.sheet_id
)

SELECT
    sheet.sheet_id,
    coalesce(class.stay_h, list_max(setting.stay_h)) AS required_stay_h
FROM sheet
ASOF LEFT JOIN class ON sheet.grammage_g_m2 >= class.from_grammage_g_m2
CROSS JOIN main.setting AS setting
