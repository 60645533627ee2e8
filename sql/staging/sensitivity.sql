-- Purpose: how each property follows from what is measured, as powers: a property that goes with force over width
--     has 1 for force and -1 for width, and an error of 1 % in either makes one of 1 % in it. First order, from the
--     definitions. Energy is taken to go with force and elongation, the maximum slope with force over elongation.
--     NULL where a quantity does not enter.
-- Grain: One row per property that has a tensile test in it.
-- Inputs: none
SELECT *
FROM (
    VALUES
    ('tensile_strength', 1, NULL, -1, NULL, NULL, NULL),
    ('tensile_index', 1, NULL, -1, NULL, -1, NULL),
    ('breaking_length', 1, NULL, -1, NULL, -1, NULL),
    ('stretch', NULL, 1, NULL, -1, NULL, NULL),
    ('tea', 1, 1, -1, -1, NULL, NULL),
    ('tea_index', 1, 1, -1, -1, -1, NULL),
    ('tensile_stiffness', 1, -1, -1, 1, NULL, NULL),
    ('tensile_stiffness_index', 1, -1, -1, 1, -1, NULL),
    ('elastic_modulus', 1, -1, -1, 1, NULL, -1)
) AS sensitivity (property, force, elongation, width, span, grammage, thickness)
