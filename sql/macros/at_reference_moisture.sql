-- Estimate of a property at a reference moisture in %, from the moisture in % at which it was measured and a change
-- in % of the measured value per point of moisture. Source: common practice, no source; published sensitivities
-- disagree, so the change is the laboratory's own.
CREATE OR REPLACE MACRO at_reference_moisture(value, moisture_pct, reference_moisture_pct, change_pct) AS
    value * (1 + change_pct / 100.0 * (reference_moisture_pct - moisture_pct));
