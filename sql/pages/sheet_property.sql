-- Purpose: all properties of each sheet with their uncertainty.
-- Grain: One row per sheet, direction, property, basis, assumption and conditions of the test that are never pooled.
-- Inputs: main.sheet_property
SELECT
    sheet_id,
    direction,
    property,
    basis,
    pressure_kpa,
    nullif(
        concat_ws(
            ', ',
            side || ' side',
            'ply ' || ply,
            treatment,
            method,
            format('{:g} s', test_time_s),
            format('{:g} mm', length_mm),
            format('{:g} mm/min', rate_mm_min)
        ),
        ''
    ) AS conditions,
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
ORDER BY sheet_id, property, direction, basis, pressure_kpa, conditions, assumption
