-- Purpose: tensile test pieces of known sheets, in and out of the means.
-- Grain: One row per tensile test piece.
-- Inputs: derived.tensile
SELECT *
FROM derived.tensile
