-- A sheet number with look-alike characters made equal: letter case, O and 0, I, l and 1, hyphen, dashes, minus,
-- underscore and spaces. For suggestions only, never for joins. Source: common practice, no source.
CREATE OR REPLACE MACRO folded_sheet_id(sheet_id) AS
    regexp_replace(
        translate(upper(sheet_id), 'OIL_‐‑‒–—−', '011-------'), '[\s\p{Z}]', '', 'g'
    );
