-- Purpose: the pressing of each sheet.
-- Grain: One row per pressed sheet.
-- Inputs: records.pressing
SELECT
    sheet_id,
    count(*) AS n_press_passes,
    max(line_load_kn_m) AS highest_line_load_kn_m,
    max(pressure_kpa) AS highest_press_pressure_kpa
FROM records.pressing
WHERE record_status = 'loaded'
GROUP BY sheet_id
