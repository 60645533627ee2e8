-- A point in time in UTC to the minute, as people read it: '2026-10-03 11:20 UTC'.
-- Source: common practice, no source.
CREATE OR REPLACE MACRO utc_minute(at_utc) AS
    strftime(at_utc, '%Y-%m-%d %H:%M UTC');
