-- Tensile test pieces of known sheets, in and out of means.
-- One row per tensile test piece.
-- Inputs: indexed.tensile.
SELECT *
FROM indexed.tensile
