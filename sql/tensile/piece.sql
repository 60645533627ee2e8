-- Purpose: tensile test pieces of known sheets: results from the raw values, else the tester's own; the verdict on the
--     atmosphere; and whether a piece counts in the means.
-- Grain: One row per tensile test piece.
-- Inputs: tensile.curve_match, forming.sheet, atmosphere.verdict, value.setting_list
WITH reduced AS (
    SELECT
        * EXCLUDE (
            has_record, curve,
            reported_tensile_strength_kn_m, reported_stretch_pct, reported_tea_j_m2, reported_tensile_stiffness_kn_m,
            instrument_max_force_n,
            instrument_elongation_mm,
            instrument_energy_j,
            instrument_max_slope_n_mm,
            instrument_span_mm
        ),
        coalesce(tensile_strength_kn_m(max_force_n, width_mm), reported_tensile_strength_kn_m)
            AS tensile_strength_kn_m,
        coalesce(stretch_pct(elongation_mm, span_mm), reported_stretch_pct) AS stretch_pct,
        coalesce(tea_j_m2(energy_j, width_mm, span_mm), reported_tea_j_m2) AS tea_j_m2,
        coalesce(tensile_stiffness_kn_m(max_slope_n_mm, span_mm, width_mm), reported_tensile_stiffness_kn_m)
            AS tensile_stiffness_kn_m
    FROM tensile.curve_match
)

SELECT
    piece.*,
    sheet.trial,
    sheet.trial_point,
    compliance.verdict AS atmosphere_verdict,
    compliance.reason AS atmosphere_reason,
    nullif(
        concat_ws(
            ', ',
            CASE WHEN list_contains(setting.left_out_remarks, piece.remark) THEN piece.remark END,
            CASE WHEN piece.results_origin IS NULL THEN 'unusable_curve' END,
            nullif(
                array_to_string(
                    list_intersect(string_split(piece.curve_findings, ', '), setting.left_out_findings),
                    ', '
                ),
                ''
            ),
            CASE WHEN NOT compliance.admitted THEN compliance.verdict END
        ),
        ''
    ) AS left_out_because,
    left_out_because IS NULL AS in_means
FROM reduced AS piece
INNER JOIN forming.sheet AS sheet ON piece.sheet_id = sheet.sheet_id
INNER JOIN (FROM atmosphere.verdict WHERE kind = 'tensile') AS compliance
    ON piece.file_hash = compliance.file_hash
    AND piece.record_key = compliance.record_key
CROSS JOIN value.setting_list AS setting
