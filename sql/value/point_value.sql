-- Purpose: the properties of each trial point with the sheet as the replicate: value is the mean of the sheets'
--     values and s their standard deviation. Values on different bases or at different pressures are never averaged
--     together. The uncertainty combines the scatter between sheets, which includes the random part within each
--     sheet, and the mean of the sheets' systematic parts: the error of one tester is common to all sheets and does
--     not average out; with several testers this is an upper limit. A single sheet keeps its own uncertainty.
--     preferred marks the basis and pressure that wide tables show.
-- Grain: One row per trial point, property, direction, basis and further column of what may never be pooled.
-- Inputs: value.sheet_value, forming.sheet, main.setting
WITH value AS (
    SELECT *, {kind_of_mean} AS mean_kind
    FROM value.sheet_value
),

counted AS (
    SELECT
        sheet.trial,
        sheet.trial_point,
        value.property,
        value.direction,
        value.basis,
        {value_never_pooled},
        value.assumption,
        bool_or(value.preferred) AS preferred,
        count(value.value) AS n_sheets,
        sum(value.n) FILTER (WHERE value.value IS NOT NULL)::BIGINT AS n_readings,
        sum(value.n_left_out)::BIGINT AS n_left_out,
        value.mean_kind,
        favg(summand_of_mean(value.mean_kind, value.value)) AS mean_summand,
        stddev_samp(summand_of_mean(value.mean_kind, value.value)) AS s_of_summands,
        favg(sine_of_angle(value.mean_kind, value.value)) AS sine,
        favg(cosine_of_angle(value.mean_kind, value.value)) AS cosine,
        favg(value.systematic_uncertainty) FILTER (WHERE value.value IS NOT NULL) AS systematic_uncertainty,
        max(value.standard_uncertainty) FILTER (WHERE value.value IS NOT NULL) AS largest_uncertainty,
        max(value.verdict_rank) FILTER (WHERE value.value IS NOT NULL) AS verdict_rank,
        bit_or(value.flags) AS flags,
        bit_or(value.known_parts) FILTER (WHERE value.value IS NOT NULL) AS known_parts
    FROM value
    INNER JOIN forming.sheet AS sheet ON value.sheet_id = sheet.sheet_id
    GROUP BY ALL
    HAVING count(value.value) > 0
),

point AS (
    SELECT
        * EXCLUDE (mean_kind, mean_summand, s_of_summands, sine, cosine),
        mean_of_kind(mean_kind, mean_summand, sine, cosine) AS value,
        spread_of_kind(mean_kind, value, s_of_summands, n_sheets, sine, cosine) AS s
    FROM counted
)

SELECT
    point.* EXCLUDE (preferred, largest_uncertainty, known_parts),
    CASE
        WHEN point.n_sheets = 1 THEN point.largest_uncertainty
        ELSE combined_uncertainty([
            error_of_mean(point.s, point.n_sheets) ** 2, point.systematic_uncertainty ** 2
        ])
    END AS standard_uncertainty,
    -- 6128: the bits of what is systematic, 2048: that of the scatter between sheets
    CASE WHEN point.n_sheets = 1 THEN point.known_parts ELSE (point.known_parts & 6128) + 2048 END AS known_parts,
    point.preferred AND row_number() OVER (
        PARTITION BY point.trial, point.trial_point, point.property, point.direction, point.preferred
        ORDER BY
            coalesce(point.pressure_kpa = round(setting.thickness_pressure_kpa), FALSE) DESC,
            point.n_sheets DESC,
            {never_pooled}
    ) = 1 AS preferred
FROM point
CROSS JOIN main.setting AS setting
