-- Purpose: tests and treatments whose sheet number is in no forming log, with the most similar known sheet numbers:
--     equal after folding look-alike characters, else one character added, lost, changed or swapped with its
--     neighbour. A suggestion is never applied. Numbers one edit apart share a shape, which is the number itself or
--     the number without one character; so an equality join finds the candidates, and only those are compared.
--     Accents are removed because the distance counts bytes.
-- Grain: One row per record whose sheet is unknown.
-- Inputs: atmosphere.sheet_record, forming.sheet
WITH unmatched AS (
    SELECT record.*
    FROM atmosphere.sheet_record AS record
    ANTI JOIN forming.sheet AS sheet ON record.sheet_id = sheet.sheet_id
),

unknown AS (
    SELECT DISTINCT sheet_id
    FROM unmatched
),

look_alike AS (
    SELECT
        unknown.sheet_id,
        sheet.sheet_id AS near_sheet_id,
        'looks alike: letter case, O/0, I/l/1, dashes or spaces differ' AS reason
    FROM unknown
    INNER JOIN forming.sheet AS sheet ON folded_sheet_id(unknown.sheet_id) = folded_sheet_id(sheet.sheet_id)
),

not_alike AS (
    SELECT sheet_id
    FROM unknown
    ANTI JOIN look_alike ON unknown.sheet_id = look_alike.sheet_id
),

unknown_shape AS (
    SELECT not_alike.sheet_id, without_character(not_alike.sheet_id, character.place) AS shape
    FROM not_alike
    CROSS JOIN unnest(range(length(not_alike.sheet_id) + 1)) AS character (place)
),

known_shape AS (
    SELECT sheet.sheet_id, without_character(sheet.sheet_id, character.place) AS shape
    FROM forming.sheet AS sheet
    CROSS JOIN unnest(range(length(sheet.sheet_id) + 1)) AS character (place)
    WHERE EXISTS (FROM not_alike)
),

one_edit AS (
    SELECT DISTINCT
        unknown_shape.sheet_id,
        known_shape.sheet_id AS near_sheet_id,
        'one character is added, lost, changed or swapped with its neighbour' AS reason
    FROM unknown_shape
    INNER JOIN known_shape ON unknown_shape.shape = known_shape.shape
    WHERE damerau_levenshtein(strip_accents(unknown_shape.sheet_id), strip_accents(known_shape.sheet_id)) <= 1
),

suggestion AS (
    SELECT
        sheet_id,
        string_agg(near_sheet_id, ', ' ORDER BY near_sheet_id) AS suggested_sheet_id,
        any_value(reason) || CASE WHEN count(*) > 1 THEN format(' (one of {} that fit)', count(*)) ELSE '' END
            AS suggestion_reason
    FROM (
        FROM look_alike
        UNION ALL
        FROM one_edit
    )
    GROUP BY sheet_id
)

SELECT
    unmatched.kind,
    unmatched.sheet_id,
    unmatched.tester,
    unmatched.at_utc AS tested_at_utc,
    unmatched.file_hash,
    unmatched.line_number,
    unmatched.record_key,
    suggestion.suggested_sheet_id,
    suggestion.suggestion_reason
FROM unmatched
LEFT JOIN suggestion ON unmatched.sheet_id = suggestion.sheet_id
