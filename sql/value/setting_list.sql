-- Purpose: the settings that are lists, as lists.
-- Grain: One row of settings.
-- Inputs: main.setting
SELECT
    string_split_regex(admitted_verdicts, '\s*,\s*') AS admitted_verdicts,
    string_split_regex(left_out_remarks, '\s*,\s*') AS left_out_remarks,
    string_split_regex(left_out_findings, '\s*,\s*') AS left_out_findings,
    string_split_regex(corrected_properties, '\s*,\s*') AS corrected_properties
FROM main.setting
