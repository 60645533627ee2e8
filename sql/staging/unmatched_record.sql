-- Purpose: records of sheets that no forming record knows.
-- Grain: One row per such record.
-- Inputs: records.forming, records.basis_weight, records.moisture, records.thickness,
--     tensile_curve_match.tensile_piece,
--     records.pressing, records.drying, records.conditioning
WITH record AS (
    SELECT 'basis_weight' AS kind, sheet_id, tester, tested_at_utc, file_hash, line_number
    FROM records.basis_weight
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'moisture', sheet_id, tester, tested_at_utc, file_hash, line_number
    FROM records.moisture
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'thickness', sheet_id, tester, tested_at_utc, file_hash, line_number
    FROM records.thickness
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT DISTINCT 'tensile', sheet_id, tester, tested_at_utc, file_hash, line_number
    FROM tensile_curve_match.tensile_piece
    UNION ALL
    SELECT 'pressing', sheet_id, NULL, pressed_at_utc, file_hash, line_number
    FROM records.pressing
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'drying', sheet_id, NULL, dried_at_utc, file_hash, line_number
    FROM records.drying
    WHERE record_status = 'loaded'
    UNION ALL
    SELECT 'conditioning', sheet_id, NULL, in_at_utc, file_hash, line_number
    FROM records.conditioning
    WHERE record_status = 'loaded'
)

SELECT record.*
FROM record
ANTI JOIN (SELECT sheet_id FROM records.forming WHERE record_status = 'loaded') AS known
    ON record.sheet_id = known.sheet_id
