-- Purpose: the drying of each sheet; methods and restraints in the order of the steps.
-- Grain: One row per dried sheet.
-- Inputs: records.drying
SELECT
    sheet_id,
    string_agg(method, ', ' ORDER BY step_no) AS drying_methods,
    max(temperature_c) AS highest_drying_temperature_c,
    string_agg(restraint, ', ' ORDER BY step_no) AS drying_restraints,
    sum_of_all(drying_time_s) AS drying_time_s
FROM records.drying
WHERE record_status = 'loaded'
GROUP BY sheet_id
