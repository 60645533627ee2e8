-- Purpose: tensile test pieces of known sheets: results from the raw values, else the tester's own; indices with the
--     sheet's mean grammage and thickness; and whether a piece counts in the means.
-- Grain: One row per tensile test piece.
-- Inputs: tensile_curve_match.tensile_piece, staging.sheet, sheet_measurement.grammage, sheet_measurement.thickness,
--     atmosphere_compliance.climate_test, main.setting
WITH reduced AS (
    SELECT
        * EXCLUDE (
            record_key, has_record, curve,
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
    FROM tensile_curve_match.tensile_piece
),

weighed AS (
    SELECT
        piece.*,
        sheet.trial,
        sheet.trial_point,
        setting.grammage_basis,
        grammage.grammage_g_m2,
        grammage.conditioned.mean AS grammage_conditioned_g_m2,
        grammage.oven_dry.mean AS grammage_oven_dry_g_m2,
        grammage.as_received.mean AS grammage_as_received_g_m2,
        setting.thickness_kind,
        thickness.selected_thickness.mean AS thickness_um,
        thickness.selected_thickness_pressure_kpa AS thickness_pressure_kpa,
        compliance.verdict AS atmosphere_verdict,
        compliance.reason AS atmosphere_reason,
        nullif(
            concat_ws(
                ', ',
                CASE
                    WHEN list_contains(string_split_regex(setting.left_out_remarks, '\s*,\s*'), piece.remark)
                        THEN piece.remark
                END,
                CASE WHEN piece.results_origin IS NULL THEN 'unusable_curve' END,
                nullif(
                    array_to_string(
                        list_intersect(
                            string_split(piece.curve_findings, ', '),
                            string_split_regex(setting.left_out_findings, '\s*,\s*')
                        ),
                        ', '
                    ),
                    ''
                ),
                CASE WHEN NOT compliance.admitted THEN compliance.verdict END
            ),
            ''
        ) AS left_out_because
    FROM reduced AS piece
    INNER JOIN staging.sheet AS sheet ON piece.sheet_id = sheet.sheet_id
    INNER JOIN atmosphere_compliance.climate_test AS compliance
        ON piece.file_hash = compliance.file_hash
        AND piece.line_number = compliance.line_number
        AND piece.sheet_id = compliance.sheet_id
    LEFT JOIN sheet_measurement.grammage AS grammage ON piece.sheet_id = grammage.sheet_id
    LEFT JOIN sheet_measurement.thickness AS thickness ON piece.sheet_id = thickness.sheet_id
    CROSS JOIN main.setting AS setting
)

SELECT
    *,
    left_out_because IS NULL AS in_means,
    {made_piece_columns},
    apparent_density_kg_m3(grammage_g_m2, thickness_um) AS apparent_density_kg_m3
FROM weighed
