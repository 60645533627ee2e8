-- Purpose: all properties of each sheet with their uncertainty.
-- Grain: One row per sheet, direction, property, basis, pressure and assumption.
-- Inputs: main.sheet_property
SELECT
    sheet_id,
    direction,
    property,
    basis,
    pressure_kpa,
    assumption,
    preferred AND assumption IS NULL AS is_main,
    value,
    unit,
    n,
    n_left_out,
    s,
    cv_pct,
    interval_low,
    interval_high,
    standard_uncertainty,
    expanded_uncertainty,
    uncertainty_of,
    atmosphere_verdict,
    flags
FROM main.sheet_property
ORDER BY sheet_id, property, direction, basis, pressure_kpa, assumption
