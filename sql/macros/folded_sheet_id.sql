-- A sheet id with all that is easily mistaken made alike: letter case, O and 0, I, l and 1, hyphen, dashes, minus
-- and underscore, spaces. For suggesting only, never for joining. Source: common practice, no source.
CREATE OR REPLACE MACRO folded_sheet_id(sheet_id) AS
    regexp_replace(
        translate(upper(sheet_id), 'OIL_‐‑‒–—−', '011-------'), '[\s\p{Z}]', '', 'g'
    );
