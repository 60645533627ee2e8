-- Tensile stiffness in kN/m: maximum slope of force against elongation in N/mm, times span over width in mm.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO tensile_stiffness_kn_m(max_slope_n_mm, span_mm, width_mm) AS
    max_slope_n_mm * span_mm / width_mm;
