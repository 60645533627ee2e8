-- Stretch in %: elongation at maximum force over the span, both in mm.
-- Source: definition in ISO 1924-3, clause 3.
CREATE OR REPLACE MACRO stretch_pct(elongation_mm, span_mm) AS
    100.0 * elongation_mm / span_mm;
