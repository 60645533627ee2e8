-- Purpose: every property of every sheet with the worst atmosphere verdict of its readings and with flags that a
--     reader should know before using it. Oven-dry and as-received weighings have no verdict.
-- Grain: One row per sheet, direction, property and basis.
-- Inputs: sheet_summary.tensile_property, sheet_summary.physical_property, sheet_summary.verdict,
--     sheet_summary.forming, sheet_measurement.grammage
WITH property AS (
    FROM sheet_summary.tensile_property
    UNION ALL BY NAME
    FROM sheet_summary.physical_property
),

with_grammage AS (
    SELECT
        property.*,
        CASE property.basis
            WHEN 'conditioned' THEN grammage.conditioned_derived
            WHEN 'oven_dry' THEN grammage.oven_dry_derived
        END AS derived,
        grammage.moisture_origin = 'trial_point' AS moisture_of_trial_point,
        grammage.moisture_warning IS NOT NULL AND (derived OR property.property = 'moisture') AS odd_moisture
    FROM property
    LEFT JOIN sheet_measurement.grammage AS grammage ON property.sheet_id = grammage.sheet_id
)

SELECT
    row.* EXCLUDE (derived, moisture_of_trial_point, odd_moisture),
    worst_verdict(
        CASE
            WHEN row.direction = 'MD' THEN [verdict.md]
            WHEN row.direction = 'CD' THEN [verdict.cd]
            WHEN row.direction IS NOT NULL THEN [verdict.md, verdict.cd]
            WHEN row.property = 'moisture' THEN [verdict.moisture]
            WHEN row.property IN ('thickness', 'thickness_stack') THEN [verdict.thickness]
            ELSE [
                CASE WHEN row.property <> 'grammage' THEN verdict.thickness END,
                CASE WHEN row.derived THEN verdict.moisture END,
                -- a conditioned grammage is weighed unless derived, an oven-dry one derived from conditioned weighings
                CASE WHEN (row.basis = 'conditioned') <> row.derived THEN verdict.weighing END
            ]
        END
    ) AS atmosphere_verdict,
    nullif(
        concat_ws(
            ',',
            CASE WHEN row.n_left_out > 0 THEN 'readings_left_out' END,
            CASE WHEN row.derived THEN 'derived_grammage' END,
            CASE WHEN row.derived AND row.moisture_of_trial_point THEN 'moisture_of_trial_point' END,
            CASE WHEN row.odd_moisture THEN 'odd_moisture' END,
            CASE WHEN forming.carry_over THEN 'carry_over' END,
            CASE WHEN forming.furnish_differs_from_tank THEN 'furnish_differs_from_tank' END
        ),
        ''
    ) AS flags
FROM with_grammage AS row
INNER JOIN sheet_summary.forming AS forming ON row.sheet_id = forming.sheet_id
LEFT JOIN sheet_summary.verdict AS verdict ON row.sheet_id = verdict.sheet_id
