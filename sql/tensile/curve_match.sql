-- Purpose: tensile test pieces with the tester's results, the results of the raw curve, or both. A curve belongs to
--     the record of the same piece that was tested within ten minutes of it or, where a time is missing, has the same
--     replicate number. Raw values come from the curve where the settings choose curves or where there is nothing
--     else; otherwise from the tester.
-- Grain: One row per tensile test piece.
-- Inputs: records.tensile, records.tensile_curve, ledger.curve_result, main.setting
WITH tested AS (
    SELECT
        * EXCLUDE (replicate_no, record_digest, n_lines, record_status, superseded_by),
        coalesce(
            replicate_no,
            row_number() OVER (
                PARTITION BY sheet_id, direction, specimen_no
                ORDER BY tested_at_utc NULLS LAST, file_hash, line_number
            )
        ) AS replicate_no
    FROM records.tensile
    WHERE record_status = 'loaded'
),

curve AS (
    SELECT
        record.tester,
        record.sheet_id,
        record.direction,
        record.specimen_no,
        coalesce(
            record.replicate_no,
            row_number() OVER (
                PARTITION BY record.sheet_id, record.direction, record.specimen_no
                ORDER BY record.tested_at_utc NULLS LAST, record.file_hash, record.line_number
            )
        ) AS replicate_no,
        record.tested_at_utc,
        record.width_mm,
        record.span_mm,
        record.file_hash,
        record.line_number,
        record.last_line_number,
        result.* EXCLUDE (record_digest, reduced_under)
    FROM records.tensile_curve AS record
    INNER JOIN ledger.curve_result AS result ON record.record_key = result.record_key
    WHERE record.record_status = 'loaded'
),

candidate AS (
    SELECT
        tested.record_key AS tested_key,
        curve.record_key AS curve_key,
        coalesce(abs(epoch(tested.tested_at_utc) - epoch(curve.tested_at_utc)), 0) AS apart_s
    FROM tested
    INNER JOIN curve
        ON tested.sheet_id = curve.sheet_id
        AND tested.direction = curve.direction
        AND tested.specimen_no = curve.specimen_no
    WHERE
        CASE
            WHEN tested.tested_at_utc IS NULL OR curve.tested_at_utc IS NULL
                THEN tested.replicate_no = curve.replicate_no
            ELSE apart_s <= 600
        END
),

pair AS (
    SELECT
        tested_key,
        curve_key
    FROM candidate
    QUALIFY
        row_number() OVER (PARTITION BY curve_key ORDER BY apart_s, tested_key) = 1
        AND row_number() OVER (PARTITION BY tested_key ORDER BY apart_s, curve_key) = 1
),

both_sides AS (
    SELECT
        tested,
        curve
    FROM tested
    LEFT JOIN pair ON tested.record_key = pair.tested_key
    LEFT JOIN curve ON pair.curve_key = curve.record_key
    UNION ALL
    SELECT
        NULL AS tested,
        curve
    FROM curve
    ANTI JOIN pair ON curve.record_key = pair.curve_key
),

decided AS (
    SELECT
        both_sides.*,
        coalesce(curve.usable AND (setting.curve_results_used OR tested.record_key IS NULL), FALSE) AS by_curve
    FROM both_sides
    CROSS JOIN main.setting AS setting
)

SELECT
    coalesce(tested.file_hash, curve.file_hash) AS file_hash,
    coalesce(tested.line_number, curve.line_number) AS line_number,
    coalesce(tested.record_key, curve.record_key) AS record_key,
    coalesce(tested.tester, curve.tester) AS tester,
    coalesce(tested.sheet_id, curve.sheet_id) AS sheet_id,
    coalesce(tested.direction, curve.direction) AS direction,
    coalesce(tested.specimen_no, curve.specimen_no) AS specimen_no,
    coalesce(tested.replicate_no, curve.replicate_no) AS replicate_no,
    coalesce(tested.tested_at_utc, curve.tested_at_utc) AS tested_at_utc,
    tested.operator AS operator,
    tested.remark AS remark,
    tested.note AS note,
    coalesce(tested.width_mm, curve.width_mm) AS width_mm,
    coalesce(tested.span_mm, curve.span_mm) AS span_mm,
    tested.rate_mm_min AS rate_mm_min,
    CASE WHEN by_curve THEN curve.max_force_n ELSE tested.max_force_n END AS max_force_n,
    CASE WHEN by_curve THEN curve.elongation_at_max_mm ELSE tested.elongation_mm END AS elongation_mm,
    CASE WHEN by_curve THEN curve.energy_to_max_j ELSE tested.energy_j END AS energy_j,
    CASE WHEN by_curve THEN curve.max_slope_n_mm ELSE tested.max_slope_n_mm END AS max_slope_n_mm,
    tested.break_position_mm AS break_position_mm,
    tested.tensile_strength_kn_m AS reported_tensile_strength_kn_m,
    tested.stretch_pct AS reported_stretch_pct,
    tested.tea_j_m2 AS reported_tea_j_m2,
    tested.tensile_stiffness_kn_m AS reported_tensile_stiffness_kn_m,
    CASE WHEN by_curve THEN 'curve' WHEN tested.record_key IS NOT NULL THEN 'tester' END AS results_origin,
    tested.record_key IS NOT NULL AS has_record,
    tested.max_force_n AS instrument_max_force_n,
    tested.elongation_mm AS instrument_elongation_mm,
    tested.energy_j AS instrument_energy_j,
    tested.max_slope_n_mm AS instrument_max_slope_n_mm,
    tested.span_mm AS instrument_span_mm,
    curve.findings AS curve_findings,
    curve
FROM decided
