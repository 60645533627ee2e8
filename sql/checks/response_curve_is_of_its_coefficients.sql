-- Must hold: except for rounding, a curve of MD/CD against the jet-to-wire ratio follows from the published
--     coefficients, within its band and the ratios tried; a response has a curve exactly when it is fitted; a minimum
--     lies within its interval and the ratios tried, and no point of the curve lies below it.
-- Grain: One row per point of a curve, or response without a curve, that breaks it.
-- Inputs: main.jet_to_wire_response, main.jet_to_wire_response_curve
WITH coefficients AS (
    SELECT
        response.*,
        curve.jet_to_wire_ratio,
        curve.md_cd_ratio,
        curve.band_low,
        curve.band_high,
        ln(curve.jet_to_wire_ratio / response.center_jet_to_wire_ratio) AS u
    FROM main.jet_to_wire_response AS response
    FULL JOIN main.jet_to_wire_response_curve AS curve
        ON response.trial = curve.trial
        AND response.property = curve.property
)

SELECT
    trial,
    property,
    outcome,
    jet_to_wire_ratio,
    md_cd_ratio,
    minimum_jet_to_wire_ratio,
    md_cd_ratio_at_minimum
FROM coefficients
WHERE NOT coalesce(
    CASE
        WHEN outcome = 'not_fitted' THEN jet_to_wire_ratio IS NULL
        ELSE
            abs(ln(md_cd_ratio) - (intercept + linear_coefficient * u + quadratic_coefficient * u ** 2)) < 1e-9
            AND md_cd_ratio BETWEEN band_low * (1 - 1e-9) AND band_high * (1 + 1e-9)
            AND isfinite(band_high)
            AND jet_to_wire_ratio BETWEEN lowest_jet_to_wire_ratio AND highest_jet_to_wire_ratio
    END,
    FALSE
)
OR (outcome = 'minimum') <> (minimum_jet_to_wire_ratio IS NOT NULL)
OR NOT minimum_jet_to_wire_ratio BETWEEN lowest_jet_to_wire_ratio AND highest_jet_to_wire_ratio
OR minimum_jet_to_wire_ratio < minimum_jet_to_wire_ratio_low * (1 - 1e-9)
OR minimum_jet_to_wire_ratio > minimum_jet_to_wire_ratio_high * (1 + 1e-9)
OR md_cd_ratio < md_cd_ratio_at_minimum * (1 - 1e-9)
