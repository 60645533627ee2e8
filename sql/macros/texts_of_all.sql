-- Different texts of a column in alphabetical order, separated by semicolons; NULL where a row has none.
-- Source: definition.
CREATE OR REPLACE MACRO texts_of_all(text) AS
    CASE WHEN count(*) = count(text) THEN string_agg(DISTINCT text, '; ' ORDER BY text) END;
