-- Purpose: the properties of each sheet that have no direction: grammage, moisture, thickness, density and
--     bulk. Density and bulk are made of the mean grammage on each basis and the mean thickness of the
--     kind the settings choose. A property of which every test is left out has no value.
-- Grain: One row per sheet, property and basis.
-- Inputs: joined.sheet, measured.grammage, measured.thickness, main.setting
WITH grammage AS (
    SELECT sheet_id, 'conditioned' AS basis, conditioned AS summary
    FROM measured.grammage
    UNION ALL
    SELECT sheet_id, 'oven_dry', oven_dry
    FROM measured.grammage
    UNION ALL
    SELECT sheet_id, 'as_taken', as_taken
    FROM measured.grammage
),

density AS (
    SELECT
        grammage.sheet_id,
        grammage.basis,
        thickness.of_kind_pressure_kpa AS pressure_kpa,
        {
            'n': grammage.summary.n + thickness.of_kind.n,
            'mean': apparent_density_kg_m3(grammage.summary.mean, thickness.of_kind.mean),
            's': NULL,
            'n_left_out': grammage.summary.n_left_out + thickness.of_kind.n_left_out
        } AS density,
        struct_update(density, mean := bulk_cm3_g(grammage.summary.mean, thickness.of_kind.mean)) AS bulk
    FROM grammage
    INNER JOIN measured.thickness AS thickness ON grammage.sheet_id = thickness.sheet_id
),

tidy AS (
    SELECT
        sheet_id,
        'grammage' AS property,
        basis,
        NULL::DOUBLE AS pressure_kpa,
        'g/m2' AS unit,
        'g_m2' AS suffix,
        summary
    FROM grammage
    UNION ALL
    SELECT sheet_id, 'moisture', NULL, NULL, '%', 'pct', moisture
    FROM measured.grammage
    UNION ALL
    SELECT sheet_id, 'thickness', NULL, single_pressure_kpa, 'um', 'um', single
    FROM measured.thickness
    UNION ALL
    SELECT sheet_id, 'thickness_stack', NULL, stack_pressure_kpa, 'um', 'um', stack
    FROM measured.thickness
    UNION ALL
    SELECT sheet_id, 'apparent_density', basis, pressure_kpa, 'kg/m3', 'kg_m3', density
    FROM density
    UNION ALL
    SELECT sheet_id, 'bulk', basis, pressure_kpa, 'cm3/g', 'cm3_g', bulk
    FROM density
)

SELECT
    tidy.* EXCLUDE (summary),
    tidy.summary.n AS n,
    tidy.summary.mean AS value,
    tidy.summary.s AS s,
    tidy.summary.n_left_out AS n_left_out,
    sheet.trial,
    sheet.trial_point,
    NULL::VARCHAR AS direction,
    tidy.property AS wide_name,
    coalesce(tidy.basis = setting.grammage_basis, TRUE) AS preferred
FROM tidy
INNER JOIN joined.sheet AS sheet ON tidy.sheet_id = sheet.sheet_id
CROSS JOIN main.setting AS setting
WHERE tidy.summary.mean IS NOT NULL OR tidy.summary.n_left_out > 0
