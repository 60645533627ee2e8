-- Purpose: the mean of each sheet by each tester over time, from the tester's own readings: the newest 1000 sheets
--     per tester and quantity. The mean is over the valid readings; if none is valid, it is over all of them and
--     is not valid. Thickness is separate for single sheets and packs and for each pressure to the kPa, grammage
--     for each state of the pieces. Readings without a time are left out.
-- Grain: One row per quantity, its direction, pressure or state, tester and known sheet.
-- Inputs: main.test_piece, main.test_atmosphere, main.sheet, records.basis_weight, records.moisture,
--     records.thickness
WITH reading AS (
    SELECT
        'tensile_strength' AS quantity,
        direction AS of_what,
        tester,
        sheet_id,
        tested_at_utc,
        in_means AS counts,
        tensile_strength_kn_m AS value
    FROM main.test_piece
    UNION ALL
    SELECT
        CASE WHEN thickness.sheets_in_pack = 1 THEN 'thickness' ELSE 'thickness_stack' END,
        format('{:.0f} kPa', thickness.pressure_kpa),
        thickness.tester,
        thickness.sheet_id,
        thickness.tested_at_utc,
        compliance.admitted,
        thickness.thickness_um / thickness.sheets_in_pack
    FROM records.thickness AS thickness
    INNER JOIN (FROM main.test_atmosphere WHERE kind = 'thickness') AS compliance
        ON thickness.file_hash = compliance.file_hash
        AND thickness.record_key = compliance.record_key
    WHERE thickness.record_status = 'loaded'
    UNION ALL
    SELECT
        'grammage',
        weighed.state,
        weighed.tester,
        weighed.sheet_id,
        weighed.tested_at_utc,
        coalesce(compliance.admitted, TRUE),
        coalesce(
            grammage_g_m2(weighed.mass_g, coalesce(weighed.area_mm2, weighed.length_mm * weighed.width_mm)),
            weighed.grammage_g_m2
        )
    FROM records.basis_weight AS weighed
    INNER JOIN main.sheet AS sheet ON weighed.sheet_id = sheet.sheet_id
    LEFT JOIN (FROM main.test_atmosphere WHERE kind = 'basis_weight') AS compliance
        ON weighed.file_hash = compliance.file_hash
        AND weighed.record_key = compliance.record_key
    WHERE weighed.record_status = 'loaded'
    UNION ALL
    SELECT
        'moisture',
        NULL,
        dried.tester,
        dried.sheet_id,
        dried.tested_at_utc,
        compliance.admitted,
        moisture_pct(dried.mass_before_g, dried.mass_after_g)
    FROM records.moisture AS dried
    INNER JOIN (FROM main.test_atmosphere WHERE kind = 'moisture') AS compliance
        ON dried.file_hash = compliance.file_hash
        AND dried.record_key = compliance.record_key
    WHERE dried.record_status = 'loaded'
),

of_sheet AS (
    SELECT
        quantity,
        of_what,
        tester,
        sheet_id,
        max(tested_at_utc) AS tested_at_utc,
        bool_or(counts) AS counts,
        count(*) FILTER (WHERE NOT counts) AS n_left_out,
        mean_and_spread(value, counts) AS counting,
        mean_and_spread(value) AS every
    FROM reading
    WHERE value IS NOT NULL AND tested_at_utc IS NOT NULL
    GROUP BY quantity, of_what, tester, sheet_id
),

summarized AS (
    SELECT
        * EXCLUDE (counting, every),
        CASE WHEN counts THEN counting ELSE every END AS summary
    FROM of_sheet
)

SELECT
    quantity,
    of_what,
    tester,
    sheet_id,
    tested_at_utc,
    counts,
    n_left_out,
    (summary).n AS n,
    (summary).mean AS value,
    (summary).mean - interval_half_width((summary).s, (summary).n) AS interval_low,
    (summary).mean + interval_half_width((summary).s, (summary).n) AS interval_high,
    count(*) OVER (PARTITION BY quantity, of_what, tester) AS n_sheets
FROM summarized
QUALIFY row_number() OVER (PARTITION BY quantity, of_what, tester ORDER BY tested_at_utc DESC, sheet_id) <= 1000
ORDER BY
    list_position(['tensile_strength', 'thickness', 'thickness_stack', 'grammage', 'moisture'], quantity),
    of_what DESC,
    tester,
    tested_at_utc,
    sheet_id
