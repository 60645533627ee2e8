-- Purpose: the fitted jet-to-wire response of each trial as a curve with its band.
-- Grain: One row per trial, property and jet-to-wire ratio of the curve.
-- Inputs: main.jet_to_wire_response_curve
SELECT *
FROM main.jet_to_wire_response_curve
ORDER BY trial, property, jet_to_wire_ratio
