-- Must hold: no mart has two rows with the same key.
-- Grain: One row per mart and key that occurs more than once.
-- Inputs: main.property, main.layer, main.tank_fill, main.furnish_property, main.test_atmosphere, main.reading,
--     main.test_piece, main.sheet, main.sheet_property, main.trial_point, main.trial_point_property,
--     main.jet_to_wire_response, main.jet_to_wire_response_curve, main.unmatched_test
WITH keyed AS (
    SELECT 'property' AS mart, json_array(property) AS key
    FROM main.property
    UNION ALL
    SELECT 'layer', json_array(sheet_id, layer_no)
    FROM main.layer
    UNION ALL
    SELECT 'tank_fill', json_array(tank, fill_no)
    FROM main.tank_fill
    UNION ALL
    SELECT 'furnish_property', json_array(furnish, property, method)
    FROM main.furnish_property
    UNION ALL
    SELECT 'test_atmosphere', json_array(kind, record_key, file_hash)
    FROM main.test_atmosphere
    UNION ALL
    SELECT
        'reading',
        json_array(property, kind, record_key, file_hash)
    FROM main.reading
    UNION ALL
    SELECT 'test_piece', json_array(record_key, file_hash)
    FROM main.test_piece
    UNION ALL
    SELECT 'sheet', json_array(sheet_id)
    FROM main.sheet
    UNION ALL
    SELECT 'sheet_property', json_array(sheet_id, property, direction, basis, {never_pooled})
    FROM main.sheet_property
    UNION ALL
    SELECT 'trial_point', json_array(trial, trial_point)
    FROM main.trial_point
    UNION ALL
    SELECT
        'trial_point_property',
        json_array(trial, trial_point, property, direction, basis, {never_pooled})
    FROM main.trial_point_property
    UNION ALL
    SELECT 'jet_to_wire_response', json_array(trial, property)
    FROM main.jet_to_wire_response
    UNION ALL
    SELECT 'jet_to_wire_response_curve', json_array(trial, property, jet_to_wire_ratio)
    FROM main.jet_to_wire_response_curve
    UNION ALL
    SELECT 'unmatched_test', json_array(kind, record_key, file_hash)
    FROM main.unmatched_test
)

SELECT
    mart,
    key,
    count(*) AS n_rows
FROM keyed
GROUP BY mart, key
HAVING count(*) > 1
