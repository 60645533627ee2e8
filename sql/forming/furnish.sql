-- Purpose: the composition of each furnish batch, and its refining, drainability and additives as a blend. A row with
--     a dose, or with a name alone, is an additive; every other row is a pulp. A pulp row without a share describes
--     the whole blend where the shares of the other pulps add up to 100 % (within 1 %: common practice, no source) or
--     where no row has a share. A value logged for the whole blend is used first, then the mean of the pulps weighted
--     by their shares.
-- Grain: One row per furnish batch.
-- Inputs: records.furnish
WITH component AS (
    SELECT
        *,
        dose_kg_t IS NOT NULL
        OR coalesce(share_pct, refining_energy_kwh_t, schopper_riegler_sr, canadian_freeness_ml) IS NULL AS is_additive
    FROM records.furnish
    WHERE record_status = 'loaded'
),

batch AS (
    SELECT
        furnish,
        string_agg(
            component || CASE
                WHEN share_pct IS NOT NULL THEN format(' {:g} %', share_pct)
                WHEN dose_kg_t IS NOT NULL THEN format(' {:g} kg/t', dose_kg_t)
                ELSE ''
            END,
            ', ' ORDER BY share_pct DESC NULLS LAST, component
        ) AS furnish_composition,
        coalesce(abs(sum(share_pct) FILTER (WHERE NOT is_additive) - 100) <= 1, FALSE) AS shares_are_complete,
        count(share_pct) FILTER (WHERE NOT is_additive) = 0 AS shares_are_missing
    FROM component
    GROUP BY furnish
),

whole AS (
    SELECT
        component.furnish,
        CASE WHEN min(refining_energy_kwh_t) = max(refining_energy_kwh_t) THEN min(refining_energy_kwh_t) END
            AS refining_energy_kwh_t,
        CASE WHEN min(schopper_riegler_sr) = max(schopper_riegler_sr) THEN min(schopper_riegler_sr) END
            AS schopper_riegler_sr,
        CASE WHEN min(canadian_freeness_ml) = max(canadian_freeness_ml) THEN min(canadian_freeness_ml) END
            AS canadian_freeness_ml
    FROM component
    INNER JOIN batch ON component.furnish = batch.furnish
    WHERE NOT component.is_additive
        AND component.share_pct IS NULL
        AND (batch.shares_are_complete OR batch.shares_are_missing)
    GROUP BY component.furnish
),

blended AS (
    SELECT
        component.furnish,
        weighted_mean_of_all(component.refining_energy_kwh_t, component.share_pct) AS refining_energy_kwh_t,
        weighted_mean_of_all(component.schopper_riegler_sr, component.share_pct) AS schopper_riegler_sr,
        weighted_mean_of_all(component.canadian_freeness_ml, component.share_pct) AS canadian_freeness_ml
    FROM component
    INNER JOIN batch ON component.furnish = batch.furnish
    WHERE NOT component.is_additive
        AND component.share_pct > 0
        AND batch.shares_are_complete
    GROUP BY component.furnish
),

additive AS (
    SELECT
        furnish,
        sum_of_all(dose_kg_t) AS additive_dose_kg_t,
        string_agg(component || coalesce(format(' {:g} kg/t', dose_kg_t), ''), ', ' ORDER BY component) AS additives
    FROM component
    WHERE is_additive
    GROUP BY furnish
)

SELECT
    batch.furnish,
    batch.furnish_composition,
    coalesce(whole.refining_energy_kwh_t, blended.refining_energy_kwh_t) AS refining_energy_kwh_t,
    coalesce(whole.schopper_riegler_sr, blended.schopper_riegler_sr) AS schopper_riegler_sr,
    coalesce(whole.canadian_freeness_ml, blended.canadian_freeness_ml) AS canadian_freeness_ml,
    CASE WHEN additive.furnish IS NULL THEN 0 ELSE additive.additive_dose_kg_t END AS additive_dose_kg_t,
    coalesce(additive.additives, 'none') AS additives
FROM batch
LEFT JOIN whole ON batch.furnish = whole.furnish
LEFT JOIN blended ON batch.furnish = blended.furnish
LEFT JOIN additive ON batch.furnish = additive.furnish
