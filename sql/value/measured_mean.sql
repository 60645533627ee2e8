-- Purpose: the mean of the readings of each measured property of each sheet, for every property in this one statement,
--     of the kind that the property has: arithmetic, of logarithms, or of angles.
--     What may never be pooled stands in rows of its own. random is the standard uncertainty from the scatter of the
--     readings, systematic that of the testers: it does not decrease with n, and with several testers the largest
--     counts. verdict_rank is that of the worst verdict. Of several pressures, methods and the like, preferred marks
--     the one that wide tables show: among those with valid readings that at the preferred pressure in the settings,
--     else the one with most readings, else the first.
-- Grain: One row per sheet, property, direction and further column of what may never be pooled.
-- Inputs: main.reading, main.setting
WITH reading AS (
    SELECT *, {kind_of_mean} AS mean_kind
    FROM main.reading
),

counted AS (
    SELECT
        sheet_id,
        property,
        direction,
        basis,
        {never_pooled},
        mean_kind,
        count(*) FILTER (WHERE in_means) AS n,
        count(*) FILTER (WHERE NOT in_means) AS n_left_out,
        favg(summand_of_mean(mean_kind, value)) FILTER (WHERE in_means) AS mean_summand,
        stddev_samp(summand_of_mean(mean_kind, value)) FILTER (WHERE in_means) AS s_of_summands,
        favg(sine_of_angle(mean_kind, value)) FILTER (WHERE in_means) AS sine,
        favg(cosine_of_angle(mean_kind, value)) FILTER (WHERE in_means) AS cosine,
        max(instrument_uncertainty) FILTER (WHERE in_means) AS systematic,
        max(verdict_rank(atmosphere_verdict)) FILTER (WHERE in_means) AS verdict_rank
    FROM reading
    GROUP BY ALL
),

mean AS (
    SELECT
        * EXCLUDE (mean_kind, mean_summand, s_of_summands, sine, cosine),
        mean_of_kind(mean_kind, mean_summand, sine, cosine) AS mean,
        spread_of_kind(mean_kind, mean, s_of_summands, n, sine, cosine) AS s,
        error_of_mean(s, n) AS random
    FROM counted
)

SELECT
    mean.*,
    row_number() OVER (
        PARTITION BY mean.sheet_id, mean.property, mean.direction, mean.basis
        ORDER BY
            mean.n > 0 DESC,
            coalesce(mean.pressure_kpa = round(setting.thickness_pressure_kpa), FALSE) DESC,
            mean.n DESC,
            {never_pooled}
    ) = 1 AS preferred
FROM mean
CROSS JOIN main.setting AS setting
