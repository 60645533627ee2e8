-- Tensile energy absorption in J/m2: work up to maximum force in J over width and span in mm.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO tea_j_m2(energy_j, width_mm, span_mm) AS
    1e6 * energy_j / (width_mm * span_mm);
