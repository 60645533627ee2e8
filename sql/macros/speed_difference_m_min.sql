-- Jet speed along the wire minus wire speed, all in m/min; the angle in degrees lies between the jet and the
-- running direction of the wire. Source: common practice, no source.
CREATE OR REPLACE MACRO speed_difference_m_min(jet_speed_m_min, wire_speed_m_min, spray_angle_deg) AS
    jet_speed_m_min * cos(radians(spray_angle_deg)) - wire_speed_m_min;
