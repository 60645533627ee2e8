-- Purpose: what a run did, and what the warehouse holds after it.
-- Grain: One row.
-- Inputs: ledger.night, ledger.received_file, main.export_file, main.unmatched_test, main.test_atmosphere,
--     main.tensile_curve_result, main.sheet, main.test_piece, records.tensile_curve; the parameters night,
--     began_at_utc, ended_at_utc, sheetlore_version, built_under
SELECT
    $night AS night,
    $began_at_utc::TIMESTAMP AS began_at_utc,
    $ended_at_utc::TIMESTAMP AS ended_at_utc,
    $sheetlore_version AS sheetlore_version,
    $built_under AS built_under,
    (SELECT coalesce(max(earlier.run_no), 0) + 1 FROM ledger.night AS earlier) AS run_no,
    count(*) FILTER (WHERE file.read_night = $night) AS files_read,
    count(*) FILTER (WHERE file.received_night = $night) AS files_new,
    count(*) FILTER (WHERE file.read_night = $night AND NOT file.held_whole) AS files_imported,
    count(*) FILTER (WHERE file.read_night = $night AND file.held_whole) AS files_put_on_hold,
    coalesce(
        sum(file.loaded_rows)
            FILTER (WHERE file.read_night = $night AND file.record IS DISTINCT FROM 'tensile_curve'),
        0
    )::BIGINT AS rows_imported,
    (
        SELECT count(*)
        FROM records.tensile_curve AS curve
        INNER JOIN main.export_file AS origin ON curve.file_hash = origin.file_hash
        WHERE curve.record_status = 'loaded' AND origin.read_night = $night
    ) AS curves_imported,
    coalesce(sum(file.held_lines) FILTER (WHERE file.read_night = $night AND NOT file.held_whole), 0)::BIGINT
        AS lines_held,
    coalesce(sum(file.repeated_rows) FILTER (WHERE file.read_night = $night), 0)::BIGINT AS lines_repeated,
    coalesce(sum(file.superseded_rows) FILTER (WHERE file.read_night = $night), 0)::BIGINT AS lines_superseded,
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
