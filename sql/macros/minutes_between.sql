-- Minutes from one point in time to a later one. Source: definition.
CREATE OR REPLACE MACRO minutes_between(from_utc, to_utc) AS
    (epoch_us(to_utc) - epoch_us(from_utc)) / 6e7;
