-- A text without the character at a place counted from 1; at place 0 the text itself. Two texts that differ by one
-- added, lost, changed or swapped character have one of these results in common. Source: follows from the definition
-- of the edit distance.
CREATE OR REPLACE MACRO without_character(full_text, place) AS
    CASE
        WHEN place = 0 THEN full_text
        ELSE left(full_text, place - 1) || substring(full_text, place + 1)
    END;
