-- Purpose: sum up a run once its marts are built.
-- Grain: One row.
-- Inputs: ledger.received_file, main.export_file, main.unmatched_test, main.test_atmosphere,
--     main.tensile_curve_result, main.sheet, main.test_piece; the
--     parameters night, began_at_utc, ended_at_utc, sheetlore_version, built_under
SELECT
    $night AS night,
    $began_at_utc::TIMESTAMP AS began_at_utc,
    $ended_at_utc::TIMESTAMP AS ended_at_utc,
    $sheetlore_version AS sheetlore_version,
    $built_under AS built_under,
    count(*) FILTER (WHERE file.read_night = $night) AS files_read,
    count(*) FILTER (WHERE file.held_whole AND file.in_inbox) AS files_held,
    coalesce(sum(received.stored) FILTER (WHERE file.read_night = $night), 0)::BIGINT AS rows_read,
    coalesce(sum(file.loaded_rows), 0)::BIGINT AS rows_loaded,
    coalesce(sum(file.held_lines) FILTER (WHERE NOT file.held_whole AND file.in_inbox), 0)::BIGINT AS rows_held,
    coalesce(sum(file.repeated_rows), 0)::BIGINT AS rows_repeated,
    coalesce(sum(file.superseded_rows), 0)::BIGINT AS rows_superseded,
    (
        SELECT count(*)
        FROM main.unmatched_test AS test
        INNER JOIN main.export_file AS origin ON test.file_hash = origin.file_hash
        WHERE origin.in_inbox
    ) AS tests_unmatched,
    (SELECT count(*) FROM main.test_atmosphere WHERE verdict = 'off_standard') AS tests_off_standard,
    (SELECT count(*) FROM main.test_atmosphere WHERE verdict = 'unverified') AS tests_unverified,
    (SELECT count(*) FROM main.test_atmosphere WHERE NOT admitted) AS tests_not_admitted,
    (SELECT count(*) FROM main.tensile_curve_result) AS curves_reduced,
    (SELECT count(*) FROM main.sheet) AS sheets,
    (SELECT count(*) FROM main.test_piece) AS test_pieces
FROM main.export_file AS file
INNER JOIN ledger.received_file AS received ON file.file_hash = received.file_hash
