-- Purpose: what each sheet weighs and how moist it is. A basis that was not weighed follows from the other
--     one and the sheet's own moisture, never from a handbook's; such a value has no spread of its own.
-- Grain: One row per sheet with weighings or oven-dry pairs.
-- Inputs: records.basis_weight, records.moisture, main.setting
WITH piece AS (
    SELECT
        sheet_id,
        state,
        coalesce(grammage_g_m2(mass_g, coalesce(area_mm2, length_mm * width_mm)), grammage_g_m2) AS grammage_g_m2
    FROM records.basis_weight
    WHERE fate = 'loaded'
),

weighed AS (
    SELECT
        sheet_id,
        mean_and_spread(CASE WHEN state = 'conditioned' THEN grammage_g_m2 END) AS conditioned,
        mean_and_spread(CASE WHEN state = 'oven_dry' THEN grammage_g_m2 END) AS oven_dry,
        mean_and_spread(CASE WHEN state = 'as_taken' THEN grammage_g_m2 END) AS as_taken
    FROM piece
    GROUP BY sheet_id
),

dried AS (
    SELECT
        sheet_id,
        mean_and_spread(moisture_pct(mass_before_g, mass_after_g)) AS moisture
    FROM records.moisture
    WHERE fate = 'loaded'
    GROUP BY sheet_id
),

both_bases AS (
    SELECT
        coalesce(weighed.sheet_id, dried.sheet_id) AS sheet_id,
        weighed.as_taken,
        dried.moisture,
        weighed.conditioned.mean IS NULL AS conditioned_derived,
        weighed.oven_dry.mean IS NULL AS oven_dry_derived,
        CASE
            WHEN weighed.conditioned.mean IS NOT NULL THEN weighed.conditioned
            ELSE {
                'n': weighed.oven_dry.n + dried.moisture.n,
                'mean': conditioned_grammage_g_m2(weighed.oven_dry.mean, dried.moisture.mean),
                's': NULL
            }
        END AS conditioned,
        CASE
            WHEN weighed.oven_dry.mean IS NOT NULL THEN weighed.oven_dry
            ELSE {
                'n': weighed.conditioned.n + dried.moisture.n,
                'mean': oven_dry_grammage_g_m2(weighed.conditioned.mean, dried.moisture.mean),
                's': NULL
            }
        END AS oven_dry
    FROM weighed
    FULL JOIN dried ON weighed.sheet_id = dried.sheet_id
)

SELECT
    both_bases.sheet_id,
    both_bases.conditioned,
    both_bases.oven_dry,
    both_bases.as_taken,
    both_bases.moisture,
    CASE WHEN both_bases.conditioned.mean IS NOT NULL THEN both_bases.conditioned_derived END AS conditioned_derived,
    CASE WHEN both_bases.oven_dry.mean IS NOT NULL THEN both_bases.oven_dry_derived END AS oven_dry_derived,
    setting.grammage_basis,
    CASE setting.grammage_basis
        WHEN 'conditioned' THEN both_bases.conditioned.mean
        WHEN 'oven_dry' THEN both_bases.oven_dry.mean
        WHEN 'as_taken' THEN both_bases.as_taken.mean
    END AS grammage_g_m2
FROM both_bases
CROSS JOIN main.setting AS setting
