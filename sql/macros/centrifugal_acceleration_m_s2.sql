-- Centrifugal acceleration in m/s2 at the wire: v^2/R with the wire speed in m/min and the drum's radius in mm.
-- Source: definition.
CREATE OR REPLACE MACRO centrifugal_acceleration_m_s2(wire_speed_m_min, drum_radius_mm) AS
    1000.0 * (wire_speed_m_min / 60.0) * (wire_speed_m_min / 60.0) / drum_radius_mm;
