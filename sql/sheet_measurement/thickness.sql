-- Purpose: the thickness of each sheet, from readings in an admitted atmosphere, for single sheets and for packs
--     divided by their sheets; the two are never mixed. Of several pressures one counts: among those with valid
--     readings the preferred pressure in the settings, else the one with most readings, else the lowest. Pressures
--     are rounded to 1 kPa. Means carry their uncertainty: random from the scatter of the readings, systematic from
--     the stated accuracy of the micrometer, divided by the sheets of a pack.
-- Grain: One row per sheet with readings.
-- Inputs: records.thickness, atmosphere_compliance.climate_test, main.tester_accuracy, main.setting
WITH at_pressure AS (
    SELECT
        record.sheet_id,
        CASE WHEN record.sheets_in_pack = 1 THEN 'single' ELSE 'stack' END AS kind,
        round(record.pressure_kpa) AS pressure_kpa,
        measured_mean(
            record.thickness_um / record.sheets_in_pack,
            standard_uncertainty(accuracy.thickness_um) / record.sheets_in_pack,
            compliance.admitted
        ) AS thickness
    FROM records.thickness AS record
    INNER JOIN atmosphere_compliance.climate_test AS compliance
        ON record.file_hash = compliance.file_hash
        AND record.line_number = compliance.line_number
    LEFT JOIN main.tester_accuracy AS accuracy ON record.tester = accuracy.tester
    GROUP BY ALL
),

chosen AS (
    SELECT at_pressure.*
    FROM at_pressure
    CROSS JOIN main.setting AS setting
    QUALIFY row_number() OVER (
        PARTITION BY at_pressure.sheet_id, at_pressure.kind
        ORDER BY
            at_pressure.thickness.n > 0 DESC,
            coalesce(at_pressure.pressure_kpa = round(setting.thickness_pressure_kpa), FALSE) DESC,
            at_pressure.thickness.n DESC,
            at_pressure.pressure_kpa ASC NULLS LAST
    ) = 1
),

both_kinds AS (
    SELECT
        sheet_id,
        first(thickness) FILTER (WHERE kind = 'single') AS single,
        first(pressure_kpa) FILTER (WHERE kind = 'single') AS single_pressure_kpa,
        first(thickness) FILTER (WHERE kind = 'stack') AS stack,
        first(pressure_kpa) FILTER (WHERE kind = 'stack') AS stack_pressure_kpa
    FROM chosen
    GROUP BY sheet_id
)

SELECT
    both_kinds.*,
    setting.thickness_kind,
    CASE setting.thickness_kind
        WHEN 'single' THEN both_kinds.single
        WHEN 'stack' THEN both_kinds.stack
    END AS selected_thickness,
    CASE setting.thickness_kind
        WHEN 'single' THEN both_kinds.single_pressure_kpa
        WHEN 'stack' THEN both_kinds.stack_pressure_kpa
    END AS selected_thickness_pressure_kpa
FROM both_kinds
CROSS JOIN main.setting AS setting
