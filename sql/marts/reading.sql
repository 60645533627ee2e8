-- Purpose: every value of every test of a known sheet, in the property's unit, in and out of the means. All means are
--     taken from here. A further kind of record is one more SELECT in the union.
-- Grain: One row per value of a test.
-- Inputs: tensile.piece, records.thickness, records.basis_weight, records.moisture, records.further,
--     forming.sheet, value.property, atmosphere.verdict, main.tester_accuracy, main.property,
--     value.setting_list
WITH measured AS (
    SELECT
        'tensile' AS kind,
        unnest([{tensile_properties}]) AS property,
        unnest([{tensile_columns}]) AS value,
        NULL::DOUBLE AS instrument_uncertainty,
        sheet_id,
        direction,
        NULL::VARCHAR AS basis,
        NULL::VARCHAR AS side,
        NULL::VARCHAR AS ply,
        NULL::VARCHAR AS treatment,
        NULL::VARCHAR AS method,
        NULL::DOUBLE AS pressure_kpa,
        NULL::DOUBLE AS test_time_s,
        NULL::DOUBLE AS length_mm,
        NULL::DOUBLE AS rate_mm_min,
        specimen_no,
        replicate_no,
        tester,
        tested_at_utc,
        atmosphere_verdict,
        left_out_because,
        file_hash,
        line_number,
        record_key
    FROM tensile.piece
    UNION ALL BY NAME
    SELECT
        'thickness' AS kind,
        CASE WHEN record.sheets_in_pack = 1 THEN 'thickness' ELSE 'thickness_stack' END AS property,
        record.thickness_um / record.sheets_in_pack AS value,
        standard_uncertainty(accuracy.thickness_um) / record.sheets_in_pack AS instrument_uncertainty,
        record.sheet_id,
        round(record.pressure_kpa) AS pressure_kpa,
        record.position_no AS specimen_no,
        record.replicate_no,
        record.tester,
        record.tested_at_utc,
        test.verdict AS atmosphere_verdict,
        CASE WHEN NOT test.admitted THEN test.verdict END AS left_out_because,
        record.file_hash,
        record.line_number,
        record.record_key
    FROM records.thickness AS record
    INNER JOIN (FROM atmosphere.verdict WHERE kind = 'thickness') AS test
        ON record.file_hash = test.file_hash
        AND record.record_key = test.record_key
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    UNION ALL BY NAME
    SELECT
        'basis_weight' AS kind,
        'grammage' AS property,
        coalesce(
            grammage_g_m2(record.mass_g, coalesce(record.area_mm2, record.length_mm * record.width_mm)),
            record.grammage_g_m2
        ) AS value,
        value * combined_uncertainty([
            (standard_uncertainty(accuracy.mass_g) / record.mass_g) ** 2,
            (standard_uncertainty(accuracy.area_pct) / 100) ** 2
        ]) AS instrument_uncertainty,
        record.sheet_id,
        record.state AS basis,
        record.specimen_no,
        record.replicate_no,
        record.tester,
        record.tested_at_utc,
        test.verdict AS atmosphere_verdict,
        CASE WHEN NOT test.admitted THEN test.verdict END AS left_out_because,
        record.file_hash,
        record.line_number,
        record.record_key
    FROM records.basis_weight AS record
    LEFT JOIN (FROM atmosphere.verdict WHERE kind = 'basis_weight') AS test
        ON record.file_hash = test.file_hash
        AND record.record_key = test.record_key
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    WHERE record.record_status = 'loaded'
    UNION ALL BY NAME
    SELECT
        'moisture' AS kind,
        'moisture' AS property,
        moisture_pct(record.mass_before_g, record.mass_after_g) AS value,
        moisture_uncertainty_pct(
            record.mass_before_g, record.mass_after_g, standard_uncertainty(accuracy.mass_g)
        ) AS instrument_uncertainty,
        record.sheet_id,
        record.specimen_no,
        record.replicate_no,
        record.tester,
        record.tested_at_utc,
        test.verdict AS atmosphere_verdict,
        CASE WHEN NOT test.admitted THEN test.verdict END AS left_out_because,
        record.file_hash,
        record.line_number,
        record.record_key
    FROM records.moisture AS record
    INNER JOIN (FROM atmosphere.verdict WHERE kind = 'moisture') AS test
        ON record.file_hash = test.file_hash
        AND record.record_key = test.record_key
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    UNION ALL BY NAME
    SELECT
        'further' AS kind,
        record.property,
        record.value,
        record.value * standard_uncertainty(
            accuracy.values_pct[list_position(string_split(accuracy.value_properties, ','), record.property)]
        ) / 100 AS instrument_uncertainty,
        record.sheet_id,
        record.direction,
        record.side,
        record.ply,
        record.treatment,
        record.method,
        CASE WHEN contains(entry.never_pooled, 'pressure') THEN record.pressure_kpa END AS pressure_kpa,
        CASE WHEN contains(entry.never_pooled, 'test_time') THEN record.test_time_s END AS test_time_s,
        CASE WHEN contains(entry.never_pooled, 'length') THEN record.length_mm END AS length_mm,
        CASE WHEN contains(entry.never_pooled, 'rate') THEN record.rate_mm_min END AS rate_mm_min,
        record.specimen_no,
        record.replicate_no,
        record.tester,
        record.tested_at_utc,
        test.verdict AS atmosphere_verdict,
        nullif(
            concat_ws(
                ', ',
                CASE WHEN list_contains(setting.left_out_remarks, record.remark) THEN record.remark END,
                CASE WHEN NOT test.admitted THEN test.verdict END
            ),
            ''
        ) AS left_out_because,
        record.file_hash,
        record.line_number,
        record.record_key
    FROM records.further AS record
    INNER JOIN main.property AS entry ON record.property = entry.property
    LEFT JOIN (FROM atmosphere.verdict WHERE kind = 'further') AS test
        ON record.file_hash = test.file_hash
        AND record.record_key = test.record_key
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    CROSS JOIN value.setting_list AS setting
    WHERE record.record_status = 'loaded'
)

SELECT
    measured.*,
    measured.left_out_because IS NULL AS in_means,
    property.unit,
    sheet.trial,
    sheet.trial_point
FROM measured
INNER JOIN forming.sheet AS sheet ON measured.sheet_id = sheet.sheet_id
INNER JOIN value.property AS property ON measured.property = property.property
WHERE measured.value IS NOT NULL
