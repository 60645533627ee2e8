-- Must hold: an uncertainty is stated where a part of it is named and only there, is not negative, not below its
--     systematic part, and is doubled in the expanded one; the interval has the value in its middle.
-- Grain: One row per property of which it does not.
-- Inputs: main.sheet_property, main.trial_point_property
WITH property AS (
    SELECT sheet_id AS item, COLUMNS(* EXCLUDE (sheet_id))
    FROM main.sheet_property
    UNION ALL BY NAME
    SELECT concat_ws(' | ', trial, trial_point) AS item, *
    FROM main.trial_point_property
)

SELECT
    item,
    property,
    direction,
    basis,
    value,
    standard_uncertainty,
    systematic_uncertainty,
    uncertainty_of
FROM property
WHERE
    (standard_uncertainty IS NULL) <> (uncertainty_of IS NULL)
    OR NOT isfinite(standard_uncertainty)
    OR standard_uncertainty < 0
    OR standard_uncertainty < systematic_uncertainty * (1 - 1e-9)
    OR expanded_uncertainty <> 2 * standard_uncertainty
    OR abs(interval_low + interval_high - 2 * value) > 1e-9 * abs(value)
    OR interval_high < interval_low
