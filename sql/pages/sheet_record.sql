-- Purpose: every record of each sheet: its values as JSON, its status and the verdict on its atmosphere. The
--     points of raw curves are left out; the page draws them.
-- Grain: One row per record with a sheet number.
-- Inputs: records.forming, records.pressing, records.drying, records.conditioning, records.basis_weight,
--     records.moisture, records.thickness, records.tensile, records.tensile_curve, records.further,
--     main.test_atmosphere
WITH record AS (
    SELECT
        1 AS place, 'forming' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.forming AS record
    UNION ALL
    SELECT
        2 AS place, 'pressing' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.pressing AS record
    UNION ALL
    SELECT
        3 AS place, 'drying' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.drying AS record
    UNION ALL
    SELECT
        4 AS place, 'conditioning' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.conditioning AS record
    UNION ALL
    SELECT
        5 AS place, 'basis_weight' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.basis_weight AS record
    UNION ALL
    SELECT
        6 AS place, 'moisture' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.moisture AS record
    UNION ALL
    SELECT
        7 AS place, 'thickness' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.thickness AS record
    UNION ALL
    SELECT
        8 AS place, 'tensile' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.tensile AS record
    UNION ALL
    SELECT
        9 AS place, 'tensile_curve' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM (SELECT * EXCLUDE (elongation_mm, force_n) FROM records.tensile_curve) AS record
    UNION ALL
    SELECT
        10 AS place, 'further' AS kind, sheet_id, file_hash, line_number, record_status, superseded_by, record_key,
        to_json(record) AS values_json
    FROM records.further AS record
)

SELECT
    record.kind,
    record.sheet_id,
    record.file_hash,
    record.line_number,
    record.record_status,
    record.superseded_by,
    record.values_json,
    CASE WHEN record.record_status = 'loaded' THEN test.verdict END AS verdict,
    CASE WHEN record.record_status = 'loaded' THEN test.reason END AS reason,
    CASE WHEN record.record_status = 'loaded' THEN test.reason_code END AS reason_code,
    CASE WHEN record.record_status = 'loaded' THEN test.admitted END AS admitted
FROM record
LEFT JOIN main.test_atmosphere AS test
    -- not a separate condition: with a condition on one side only, DuckDB 1.5 compares every row with every row
    ON CASE WHEN record.record_status = 'loaded' THEN record.file_hash END = test.file_hash
    AND record.record_key = test.record_key
    AND record.kind = test.kind
ORDER BY record.sheet_id, record.place, record.record_key, record.file_hash, record.line_number
