-- Must hold: an uncertainty is stated exactly where a contribution to it is named; it is not negative and not below
--     its systematic part, and the expanded uncertainty is twice as large; the interval is centred at the value.
-- Grain: One row per property that breaks it.
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
