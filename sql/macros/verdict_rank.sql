-- Rank of a verdict on the atmosphere, so that the worst is the greatest: standard 1, unverified 2, off_standard 3.
-- Source: common practice, no source.
CREATE OR REPLACE MACRO verdict_rank(verdict) AS
    CASE verdict WHEN 'standard' THEN 1 WHEN 'unverified' THEN 2 WHEN 'off_standard' THEN 3 END;
