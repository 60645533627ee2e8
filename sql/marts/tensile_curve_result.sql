-- Purpose: the results of each raw tensile curve beside the tester's own for the same piece, with the likely reason
--     where they differ by more than the limits in the settings. A tester's results per width are converted back to
--     force, elongation, energy and slope for the comparison.
-- Grain: One row per raw tensile curve in use.
-- Inputs: tensile.curve_match, main.setting
WITH compared AS (
    SELECT
        piece.sheet_id,
        piece.direction,
        piece.specimen_no,
        piece.replicate_no,
        piece.tester,
        piece.tested_at_utc,
        piece.results_origin,
        piece.curve.file_hash AS file_hash,
        piece.curve.line_number AS line_number,
        piece.curve.last_line_number AS last_line_number,
        piece.curve.n_points AS n_points,
        piece.curve.usable AS usable,
        piece.curve.findings AS findings,
        piece.curve.max_force_n AS max_force_n,
        piece.curve.elongation_at_max_mm AS elongation_at_max_mm,
        piece.curve.elongation_at_break_mm AS elongation_at_break_mm,
        piece.curve.energy_to_max_j AS energy_to_max_j,
        piece.curve.max_slope_n_mm AS max_slope_n_mm,
        piece.curve.slack_removed_mm AS slack_removed_mm,
        piece.curve.force_zero_n AS force_zero_n,
        piece.curve.bend_elongation_mm AS bend_elongation_mm,
        piece.curve.bend_force_n AS bend_force_n,
        coalesce(piece.curve.span_mm, piece.span_mm) AS span_mm,
        piece.instrument_span_mm,
        coalesce(piece.instrument_max_force_n, piece.reported_tensile_strength_kn_m * piece.width_mm)
            AS instrument_max_force_n,
        coalesce(piece.instrument_elongation_mm, piece.reported_stretch_pct * piece.span_mm / 100)
            AS instrument_elongation_mm,
        coalesce(piece.instrument_energy_j, piece.reported_tea_j_m2 * piece.width_mm * piece.span_mm / 1e6)
            AS instrument_energy_j,
        coalesce(
            piece.instrument_max_slope_n_mm,
            piece.reported_tensile_stiffness_kn_m * piece.width_mm / piece.span_mm
        ) AS instrument_max_slope_n_mm
    FROM tensile.curve_match AS piece
    WHERE piece.curve.record_key IS NOT NULL
),

differing AS (
    SELECT
        compared.*,
        100 * (max_force_n / instrument_max_force_n - 1) AS force_difference_pct,
        100 * (elongation_at_max_mm / instrument_elongation_mm - 1) AS elongation_difference_pct,
        100 * (energy_to_max_j / instrument_energy_j - 1) AS energy_difference_pct,
        100 * (max_slope_n_mm / instrument_max_slope_n_mm - 1) AS slope_difference_pct,
        abs(force_difference_pct) > setting.curve_force_limit_pct AS force_differs,
        abs(elongation_difference_pct) > setting.curve_elongation_limit_pct AS elongation_differs,
        abs(energy_difference_pct) > setting.curve_energy_limit_pct AS energy_differs,
        abs(slope_difference_pct) > setting.curve_slope_limit_pct AS slope_differs,
        setting.curve_elongation_limit_pct
    FROM compared
    CROSS JOIN main.setting AS setting
)

SELECT
    * EXCLUDE (
        span_mm, instrument_span_mm, force_differs, elongation_differs, energy_differs, slope_differs,
        curve_elongation_limit_pct
    ),
    CASE
        WHEN NOT usable OR instrument_max_force_n IS NULL THEN NULL
        WHEN
            findings IS NOT NULL
            AND (force_differs OR elongation_differs OR energy_differs OR slope_differs)
            THEN 'curve: ' || findings
        WHEN force_differs
            THEN 'force: another piece, another unit, or a force zero'
        WHEN
            elongation_differs
            AND abs(100 * (elongation_at_max_mm / (instrument_elongation_mm - slack_removed_mm) - 1))
            <= curve_elongation_limit_pct
            THEN format('slack: {:.3g} mm not removed by the tester', slack_removed_mm)
        WHEN
            elongation_differs
            AND abs(ln(instrument_elongation_mm / elongation_at_max_mm) - ln(1.8)) < 0.05
            THEN 'span: 100 mm taken for 180 mm'
        WHEN
            elongation_differs
            AND abs(ln(elongation_at_max_mm / instrument_elongation_mm) - ln(1.8)) < 0.05
            THEN 'span: 180 mm taken for 100 mm'
        WHEN span_mm <> instrument_span_mm
            THEN format('span: {:g} mm with the curve, {:g} mm with the result', span_mm, instrument_span_mm)
        WHEN elongation_differs THEN 'elongation: another end of the slack, or the break instead of the maximum'
        WHEN energy_differs THEN 'energy: taken to the break instead of the maximum, or with slack'
        WHEN slope_differs THEN 'slope: another definition or window'
    END AS disagreement
FROM differing
