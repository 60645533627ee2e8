-- Purpose: which tests each sheet has, with the number of results required, to see what is left to test. A test is
--     required where half of the tested sheets of the trial have it, or half of all tested sheets. The number is
--     what three of four sheets that have the test reach: those of the trial where half of them have it, else all.
--     A trial is open when one of its sheets was formed in the 28 days before the newest sheet of the laboratory.
-- Grain: One row per sheet and test.
-- Inputs: main.sheet, main.test_piece, main.test_atmosphere, records.basis_weight
WITH result AS (
    SELECT
        'weighing' AS test,
        weighed.sheet_id,
        coalesce(atmosphere.admitted, TRUE) AS is_valid,
        coalesce(atmosphere.reason_code, atmosphere.verdict) AS reason
    FROM records.basis_weight AS weighed
    LEFT JOIN (FROM main.test_atmosphere WHERE kind = 'basis_weight') AS atmosphere
        ON weighed.file_hash = atmosphere.file_hash
        AND weighed.record_key = atmosphere.record_key
    WHERE weighed.record_status = 'loaded'
    UNION ALL
    SELECT
        kind,
        sheet_id,
        admitted,
        coalesce(reason_code, verdict)
    FROM main.test_atmosphere
    WHERE kind IN ('thickness', 'moisture')
    UNION ALL
    SELECT
        'tensile ' || piece.direction,
        piece.sheet_id,
        piece.in_means,
        CASE
            WHEN atmosphere.admitted THEN piece.left_out_because
            ELSE coalesce(atmosphere.reason_code, atmosphere.verdict)
        END
    FROM main.test_piece AS piece
    LEFT JOIN (FROM main.test_atmosphere WHERE kind = 'tensile') AS atmosphere
        ON piece.file_hash = atmosphere.file_hash
        AND piece.record_key = atmosphere.record_key
),

counted AS (
    SELECT
        sheet_id,
        test,
        count(*) AS n_results,
        count(*) FILTER (WHERE is_valid) AS n_valid,
        list(reason ORDER BY reason) FILTER (WHERE NOT is_valid) AS reasons
    FROM result
    GROUP BY sheet_id, test
),

of_sheet AS (
    SELECT
        sheet.sheet_id,
        sheet.trial,
        sheet.trial_point,
        sheet.formed_at_utc,
        test.test,
        coalesce(counted.n_results, 0) AS n_results,
        coalesce(counted.n_valid, 0) AS n_valid,
        counted.reasons,
        max(counted.n_results) OVER (PARTITION BY sheet.sheet_id) IS NOT NULL AS is_tested,
        max(sheet.formed_at_utc) OVER (PARTITION BY sheet.trial) AS trial_formed_at_utc,
        max(sheet.formed_at_utc) OVER () AS newest_formed_at_utc
    FROM main.sheet AS sheet
    CROSS JOIN (SELECT DISTINCT test FROM counted) AS test
    LEFT JOIN counted
        ON sheet.sheet_id = counted.sheet_id
        AND test.test = counted.test
),

usual_of_trial AS (
    SELECT
        trial,
        test,
        quantile_disc(n_results, 0.25) FILTER (WHERE n_results > 0) AS required
    FROM of_sheet
    WHERE is_tested
    GROUP BY trial, test
    HAVING count(*) FILTER (WHERE n_results > 0) >= 0.5 * count(*)
),

usual_of_all AS (
    SELECT
        test,
        quantile_disc(n_results, 0.25) FILTER (WHERE n_results > 0) AS required
    FROM of_sheet
    WHERE is_tested
    GROUP BY test
    HAVING count(*) FILTER (WHERE n_results > 0) >= 0.5 * count(*)
)

SELECT
    of_sheet.sheet_id,
    of_sheet.trial,
    of_sheet.trial_point,
    of_sheet.formed_at_utc,
    of_sheet.test,
    of_sheet.n_results,
    of_sheet.n_valid,
    of_sheet.reasons,
    coalesce(usual_of_trial.required, usual_of_all.required) AS required,
    coalesce(of_sheet.trial_formed_at_utc >= of_sheet.newest_formed_at_utc - to_days(28), TRUE) AS is_open
FROM of_sheet
LEFT JOIN usual_of_trial
    ON of_sheet.trial = usual_of_trial.trial
    AND of_sheet.test = usual_of_trial.test
LEFT JOIN usual_of_all ON of_sheet.test = usual_of_all.test
ORDER BY
    of_sheet.trial_formed_at_utc DESC NULLS LAST, of_sheet.trial, of_sheet.formed_at_utc, of_sheet.sheet_id,
    list_position(['weighing', 'thickness', 'tensile MD', 'tensile CD', 'moisture'], of_sheet.test)
