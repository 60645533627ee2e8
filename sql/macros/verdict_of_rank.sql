-- Verdict on the atmosphere that has a rank; NULL for none. Source: common practice, no source.
CREATE OR REPLACE MACRO verdict_of_rank(rank) AS
    CASE rank WHEN 1 THEN 'standard' WHEN 2 THEN 'unverified' WHEN 3 THEN 'off_standard' END;
