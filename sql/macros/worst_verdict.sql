-- Worst of a list of verdicts on the atmosphere: off_standard, else unverified, else standard; NULL for a list without
-- any. Source: common practice, no source.
CREATE OR REPLACE MACRO worst_verdict(verdicts) AS
    CASE
        WHEN list_contains(verdicts, 'off_standard') THEN 'off_standard'
        WHEN list_contains(verdicts, 'unverified') THEN 'unverified'
        WHEN list_contains(verdicts, 'standard') THEN 'standard'
    END;
