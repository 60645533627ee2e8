-- Purpose: the properties of each trial point with the sheet as the replicate: value is the mean of the sheets'
--     values and s their standard deviation. Values on different bases or at different pressures are never averaged
--     together. The uncertainty combines the scatter between sheets, which includes the random part within each
--     sheet, and the mean of the sheets' systematic parts: the error of one tester is common to all sheets and does
--     not average out; with several testers this is an upper limit. A single sheet keeps its own uncertainty.
--     preferred marks the basis and pressure that wide tables show.
-- Grain: One row per trial point, direction, property, basis and pressure.
-- Inputs: quality_flags.property, main.setting
WITH point AS (
    SELECT
        trial,
        trial_point,
        direction,
        property,
        basis,
        pressure_kpa,
        unit,
        suffix,
        wide_name,
        assumption,
        preferred,
        count(value) AS n_sheets,
        sum(n) FILTER (WHERE value IS NOT NULL)::BIGINT AS n_readings,
        sum(n_left_out)::BIGINT AS n_left_out,
        favg(value) AS value,
        stddev_samp(value) AS s,
        favg((uncertainty).systematic) FILTER (WHERE value IS NOT NULL) AS systematic_uncertainty,
        max((uncertainty).standard) FILTER (WHERE value IS NOT NULL) AS largest_uncertainty,
        worst_verdict(list(DISTINCT atmosphere_verdict) FILTER (WHERE value IS NOT NULL)) AS atmosphere_verdict,
        list(DISTINCT flags) FILTER (WHERE flags IS NOT NULL) AS flags,
        bit_or((uncertainty).known_parts) FILTER (WHERE value IS NOT NULL) AS known_parts
    FROM quality_flags.property
    GROUP BY ALL
    HAVING count(value) > 0
)

SELECT
    point.* EXCLUDE (preferred, largest_uncertainty, known_parts, flags),
    nullif(array_to_string(list_sort(list_distinct(string_split(array_to_string(point.flags, ','), ','))), ','), '')
        AS flags,
    CASE
        WHEN point.n_sheets = 1 THEN point.largest_uncertainty
        ELSE combined_uncertainty([
            error_of_mean(point.s, point.n_sheets) ** 2, point.systematic_uncertainty ** 2
        ])
    END AS standard_uncertainty,
    -- 2032: the bits of what is systematic, 2048: that of the scatter between sheets
    CASE WHEN point.n_sheets = 1 THEN point.known_parts ELSE (point.known_parts & 2032) + 2048 END AS known_parts,
    point.preferred AND row_number() OVER (
        PARTITION BY point.trial, point.trial_point, point.wide_name, point.preferred
        ORDER BY
            coalesce(point.pressure_kpa = round(setting.thickness_pressure_kpa), FALSE) DESC,
            point.n_sheets DESC,
            point.pressure_kpa ASC NULLS LAST
    ) = 1 AS preferred
FROM point
CROSS JOIN main.setting AS setting
