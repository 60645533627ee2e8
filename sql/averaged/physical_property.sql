-- Purpose: the properties of each sheet that have no direction: grammage, moisture, thickness, density and
--     bulk. Density and bulk are made of the mean grammage on each basis and the mean thickness of the
--     kind the settings choose.
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
        grammage.summary.n + thickness.of_kind.n AS n,
        apparent_density_kg_m3(grammage.summary.mean, thickness.of_kind.mean) AS apparent_density_kg_m3,
        bulk_cm3_g(grammage.summary.mean, thickness.of_kind.mean) AS bulk_cm3_g
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
        summary.n AS n,
        summary.mean AS value,
        summary.s AS s
    FROM grammage
    UNION ALL
    SELECT sheet_id, 'moisture', NULL, NULL, '%', 'pct', moisture.n, moisture.mean, moisture.s
    FROM measured.grammage
    UNION ALL
    SELECT sheet_id, 'thickness', NULL, single_pressure_kpa, 'um', 'um', single.n, single.mean, single.s
    FROM measured.thickness
    UNION ALL
    SELECT sheet_id, 'thickness_stack', NULL, stack_pressure_kpa, 'um', 'um', stack.n, stack.mean, stack.s
    FROM measured.thickness
    UNION ALL
    SELECT sheet_id, 'apparent_density', basis, pressure_kpa, 'kg/m3', 'kg_m3', n, apparent_density_kg_m3, NULL
    FROM density
    UNION ALL
    SELECT sheet_id, 'bulk', basis, pressure_kpa, 'cm3/g', 'cm3_g', n, bulk_cm3_g, NULL
    FROM density
)

SELECT
    tidy.*,
    sheet.trial,
    sheet.trial_point,
    NULL::VARCHAR AS direction,
    tidy.property AS wide_name,
    coalesce(tidy.basis = setting.grammage_basis, TRUE) AS preferred
FROM tidy
INNER JOIN joined.sheet AS sheet ON tidy.sheet_id = sheet.sheet_id
CROSS JOIN main.setting AS setting
WHERE tidy.value IS NOT NULL
