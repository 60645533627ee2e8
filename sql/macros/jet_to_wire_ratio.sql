-- Jet-to-wire ratio: jet speed along the wire over wire speed, both in m/min; the angle in degrees lies between
-- the jet and the running direction of the wire. Source: common practice, no source.
CREATE OR REPLACE MACRO jet_to_wire_ratio(jet_speed_m_min, wire_speed_m_min, spray_angle_deg) AS
    jet_speed_m_min * cos(radians(spray_angle_deg)) / wire_speed_m_min;
