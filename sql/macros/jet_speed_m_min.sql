-- Jet speed in m/min: Q/(n A C), with the flow rate Q in L/min through n bores of the orifice diameter in mm,
-- A the area of one bore, and C the area of the jet over the area of the bore. Source: continuity of flow.
CREATE OR REPLACE MACRO jet_speed_m_min(flow_rate_l_min, nozzle_orifice_mm, nozzle_count, contraction_coefficient) AS
    1000.0 * flow_rate_l_min
    / (nozzle_count * pi() / 4.0 * nozzle_orifice_mm * nozzle_orifice_mm * contraction_coefficient);
