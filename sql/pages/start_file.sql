-- Purpose: the files that are new in the last run, by kind of record.
-- Grain: One row per kind of record; files of an unknown kind are one row without it.
-- Inputs: main.export_file, main.night
SELECT
    record,
    count(*) AS n_files,
    count(*) FILTER (WHERE held_whole) AS n_held_whole,
    sum(loaded_rows)::BIGINT AS loaded_rows,
    sum(held_lines) FILTER (WHERE NOT held_whole)::BIGINT AS held_lines,
    sum(repeated_rows)::BIGINT AS repeated_rows,
    sum(superseded_rows)::BIGINT AS superseded_rows
FROM main.export_file
WHERE received_night = (SELECT arg_max(night, run_no) FROM main.night)
GROUP BY record
ORDER BY record NULLS LAST
