-- A point in time in UTC as local time of a zone, to the minute: '2026-10-03 14:20'.
-- Source: common practice, no source.
CREATE OR REPLACE MACRO local_minute(at_utc, time_zone) AS
    strftime((at_utc::timestamp AT TIME ZONE 'UTC') AT TIME ZONE time_zone::varchar, '%Y-%m-%d %H:%M');
