-- Purpose: the fitted jet-to-wire response of each trial.
-- Grain: One row per trial and property.
-- Inputs: main.jet_to_wire_response
SELECT *
FROM main.jet_to_wire_response
ORDER BY trial, property
