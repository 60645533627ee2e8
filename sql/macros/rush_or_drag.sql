-- 'rush' where the jet is faster than the wire, 'drag' where it is slower, 'equal' where they differ by less than
-- 1e-9. Source: common practice, no source.
CREATE OR REPLACE MACRO rush_or_drag(jet_to_wire_ratio) AS
    CASE
        WHEN jet_to_wire_ratio IS NULL THEN NULL
        WHEN abs(jet_to_wire_ratio - 1.0) < 1e-9 THEN 'equal'
        WHEN jet_to_wire_ratio > 1.0 THEN 'rush'
        ELSE 'drag'
    END;
