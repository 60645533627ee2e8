-- Purpose: every property of every sheet, measured or made: value = factor x mean of the readings, grammage and
--     thickness to their powers, on each basis of the grammage; of MD and CD also the geometric mean (GM) and the
--     ratio (MD/CD). A property without a valid test has no value. The uncertainty combines to first order the scatter
--     of the readings, the testers' errors, and those of grammage, moisture and thickness. MD and CD of a sheet share
--     the last three, so these count in full in GM and cancel in MD/CD. Contributions that are known have their bit in
--     known_parts (value.uncertainty_part), warnings theirs in flags (value.flag). The base 'sheet' stands for what is
--     made of grammage and thickness alone.
-- Grain: One row per sheet, property, direction, basis and further column of what may never be pooled.
-- Inputs: value.measured_mean, value.moisture, value.grammage, value.thickness, value.property, tensile.instrument,
--     forming.sheet, forming.whole_sheet
WITH measured AS (
    SELECT mean.* EXCLUDE (basis)
    FROM value.measured_mean AS mean
    WHERE mean.property NOT IN ('grammage', 'moisture', 'thickness', 'thickness_stack')
),

both_directions AS (
    SELECT
        * EXCLUDE (direction, n, n_left_out, mean, s, random, systematic, verdict_rank, preferred),
        sum(n)::BIGINT AS n,
        sum(n_left_out)::BIGINT AS n_left_out,
        any_value(mean) FILTER (WHERE direction = 'MD') AS md,
        any_value(mean) FILTER (WHERE direction = 'CD') AS cd,
        sqrt(
            (any_value(random / mean) FILTER (WHERE direction = 'MD')) ** 2
            + (any_value(random / mean) FILTER (WHERE direction = 'CD')) ** 2
        ) AS relative_random,
        max(systematic / mean) AS relative_systematic,
        max(verdict_rank) AS verdict_rank,
        bool_and(preferred) AS preferred
    FROM measured
    WHERE direction IS NOT NULL
    GROUP BY ALL
    HAVING count(*) = 2
),

every_direction AS (
    SELECT *
    FROM measured
    UNION ALL BY NAME
    SELECT
        * EXCLUDE (md, cd, relative_random, relative_systematic),
        'GM' AS direction,
        geometric_mean(md, cd) AS mean,
        mean * relative_random / 2 AS random,
        mean * relative_systematic AS systematic
    FROM both_directions
    UNION ALL BY NAME
    SELECT
        * EXCLUDE (md, cd, relative_random, relative_systematic),
        'MD/CD' AS direction,
        md / cd AS mean,
        mean * relative_random AS random
    FROM both_directions
),

base AS (
    SELECT
        own.* EXCLUDE (property, systematic),
        own.property AS base,
        coalesce(own.systematic ** 2, 0)
        + coalesce((own.mean * property.force_power * instrument.force) ** 2, 0)
        + coalesce((own.mean * property.elongation_power * instrument.elongation) ** 2, 0)
        + coalesce((own.mean * property.width_power * instrument.width) ** 2, 0)
        + coalesce((own.mean * property.span_power * instrument.span) ** 2, 0) AS systematic_variance,
        coalesce(own.random ** 2, 0) AS random_variance,
        CASE WHEN own.random IS NULL THEN 0 ELSE 1 END
        + CASE WHEN property.force_power * instrument.force IS NULL THEN 0 ELSE 16 END
        + CASE WHEN property.elongation_power * instrument.elongation IS NULL THEN 0 ELSE 32 END
        + CASE WHEN property.width_power * instrument.width IS NULL THEN 0 ELSE 64 END
        + CASE WHEN property.span_power * instrument.span IS NULL THEN 0 ELSE 128 END
        + CASE WHEN own.systematic IS NULL THEN 0 ELSE 4096 END AS known_parts
    FROM every_direction AS own
    INNER JOIN value.property AS property ON own.property = property.property
    LEFT JOIN tensile.instrument AS instrument
        ON own.sheet_id = instrument.sheet_id
        AND own.direction = instrument.direction
    UNION ALL BY NAME
    SELECT
        sheet_id,
        'moisture' AS base,
        n,
        n_left_out,
        mean,
        s,
        coalesce(random ** 2, 0) AS random_variance,
        coalesce(systematic ** 2, 0) AS systematic_variance,
        CASE WHEN random IS NULL THEN 0 ELSE 4 END + CASE WHEN systematic IS NULL THEN 0 ELSE 512 END AS known_parts,
        verdict_rank,
        TRUE AS preferred
    FROM value.moisture
    UNION ALL BY NAME
    SELECT
        * EXCLUDE (property, random, systematic, is_selected),
        property AS base,
        coalesce(random ** 2, 0) AS random_variance,
        coalesce(systematic ** 2, 0) AS systematic_variance,
        CASE WHEN random IS NULL THEN 0 ELSE 8 END + CASE WHEN systematic IS NULL THEN 0 ELSE 1024 END AS known_parts,
        TRUE AS preferred
    FROM value.thickness
    UNION ALL BY NAME
    SELECT
        sheet_id,
        'sheet' AS base,
        1.0 AS mean,
        0.0 AS random_variance,
        0.0 AS systematic_variance,
        0 AS known_parts,
        TRUE AS preferred
    FROM forming.sheet
),

of_property AS (
    SELECT
        base.*,
        property.* EXCLUDE (base, unit, force_power, elongation_power, width_power, span_power),
        CASE WHEN forming.carry_over THEN 16 ELSE 0 END
        + CASE WHEN forming.furnish_differs_from_tank THEN 32 ELSE 0 END AS flags_of_sheet,
        CASE WHEN property.grammage_power IS NOT NULL THEN base.sheet_id END AS with_grammage_of,
        CASE WHEN property.thickness_power IS NOT NULL THEN base.sheet_id END AS with_thickness_of
    FROM base
    INNER JOIN value.property AS property ON base.base = property.base
    INNER JOIN forming.whole_sheet AS forming ON base.sheet_id = forming.sheet_id
),

made AS (
    SELECT
        base.* EXCLUDE (
            base, mean, s, n, n_left_out, verdict_rank, preferred, pressure_kpa, known_parts, random_variance,
            systematic_variance, factor, base_power, grammage_power, thickness_power, change_pct,
            reference_moisture_pct, with_grammage_of, with_thickness_of
        ),
        grammage.basis,
        coalesce(base.pressure_kpa, thickness.pressure_kpa) AS pressure_kpa,
        coalesce(base.n, grammage.n + thickness.n, grammage.n) AS n,
        coalesce(base.n_left_out, grammage.n_left_out + thickness.n_left_out, grammage.n_left_out) AS n_left_out,
        base.factor
        * CASE WHEN base.grammage_power IS NULL THEN 1 ELSE grammage.mean ** base.grammage_power END
        * CASE WHEN base.thickness_power IS NULL THEN 1 ELSE thickness.mean ** base.thickness_power END
            AS measured_multiplier,
        CASE
            WHEN base.direction = 'MD/CD' THEN 1
            WHEN base.change_pct IS NULL THEN measured_multiplier
            ELSE at_reference_moisture(
                measured_multiplier, moisture.mean, base.reference_moisture_pct, base.change_pct
            )
        END AS multiplier,
        base.mean ** base.base_power * multiplier AS value,
        base.base_power * base.mean ** (base.base_power - 1) * multiplier AS per_base,
        CASE WHEN base.direction = 'MD/CD' THEN NULL ELSE value END AS shared_value,
        shared_value * base.grammage_power / grammage.mean AS per_grammage,
        shared_value * base.thickness_power / thickness.mean AS per_thickness,
        shared_value * base.grammage_power * grammage.per_moisture AS basis_per_moisture,
        -base.change_pct / 100 * base.mean ** base.base_power * measured_multiplier
            AS estimate_per_moisture,
        coalesce(
            basis_per_moisture + estimate_per_moisture, basis_per_moisture, estimate_per_moisture
        ) AS moisture_sensitivity,
        CASE
            WHEN base.change_pct IS NOT NULL THEN NULL
            WHEN base.base <> 'sheet' THEN base.s * abs(per_base)
            WHEN base.thickness_power IS NULL THEN per_grammage * grammage.s
        END AS s,
        base.random_variance * per_base ** 2
        + coalesce((per_grammage * grammage.random) ** 2, 0)
        + coalesce((moisture_sensitivity * moisture.basis_random) ** 2, 0)
        + coalesce((per_thickness * thickness.random) ** 2, 0) AS random_variance,
        base.systematic_variance * per_base ** 2
        + coalesce((per_grammage * grammage.systematic) ** 2, 0)
        + coalesce((moisture_sensitivity * moisture.basis_systematic) ** 2, 0)
        + coalesce((per_thickness * thickness.systematic) ** 2, 0) AS systematic_variance,
        base.known_parts
        + CASE WHEN per_grammage * grammage.random IS NULL THEN 0 ELSE 2 END
        + CASE WHEN moisture_sensitivity * moisture.basis_random IS NULL THEN 0 ELSE 4 END
        + CASE WHEN per_thickness * thickness.random IS NULL THEN 0 ELSE 8 END
        + CASE WHEN per_grammage * grammage.systematic IS NULL THEN 0 ELSE 256 END
        + CASE WHEN moisture_sensitivity * moisture.basis_systematic IS NULL THEN 0 ELSE 512 END
        + CASE WHEN per_thickness * thickness.systematic IS NULL THEN 0 ELSE 1024 END AS known_parts,
        CASE
            WHEN base.base = 'sheet' THEN greatest(grammage.verdict_rank, thickness.verdict_rank)
            ELSE base.verdict_rank
        END AS verdict_rank,
        coalesce(grammage.derived, FALSE) AS derived_grammage,
        derived_grammage AND moisture.origin = 'trial_point' AS moisture_of_trial_point,
        moisture.warning IS NOT NULL AND (derived_grammage OR base.property = 'moisture') AS odd_moisture,
        base.preferred AND coalesce(grammage.is_selected, TRUE) AS preferred
    FROM of_property AS base
    LEFT JOIN value.grammage AS grammage ON base.with_grammage_of = grammage.sheet_id
    LEFT JOIN (SELECT * FROM value.thickness WHERE is_selected) AS thickness
        ON base.with_thickness_of = thickness.sheet_id
    LEFT JOIN value.moisture AS moisture ON base.sheet_id = moisture.sheet_id
    WHERE
        (measured_multiplier IS NOT NULL OR base.base = 'sheet')
        AND (base.grammage_power IS NULL OR grammage.sheet_id IS NOT NULL)
        AND (base.thickness_power IS NULL OR thickness.sheet_id IS NOT NULL)
        AND (base.change_pct IS NULL OR (base.direction <> 'MD/CD' AND moisture.mean IS NOT NULL))
)

SELECT
    made.* EXCLUDE (
        measured_multiplier, multiplier, per_base, shared_value, per_grammage, per_thickness, basis_per_moisture,
        estimate_per_moisture, moisture_sensitivity, random_variance, systematic_variance, derived_grammage,
        moisture_of_trial_point, odd_moisture, flags_of_sheet
    ),
    -- 6128: the bits of what is systematic
    CASE WHEN made.known_parts > 0 THEN sqrt(made.random_variance + made.systematic_variance) END
        AS standard_uncertainty,
    CASE WHEN made.known_parts & 6128 > 0 THEN sqrt(made.systematic_variance) END AS systematic_uncertainty,
    made.flags_of_sheet
    + CASE WHEN made.n_left_out > 0 THEN 1 ELSE 0 END
    + CASE WHEN made.derived_grammage THEN 2 ELSE 0 END
    + CASE WHEN made.moisture_of_trial_point THEN 4 ELSE 0 END
    + CASE WHEN made.odd_moisture THEN 8 ELSE 0 END AS flags
FROM made
WHERE made.value IS NOT NULL OR made.n_left_out > 0
