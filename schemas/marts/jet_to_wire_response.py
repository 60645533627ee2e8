"""Jet-to-wire response: how the MD/CD of each property of a trial answers to the jet-to-wire ratio."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, column
from schemas.marts import shared

LEAST_SQUARES = "least squares over sheets; common practice, no source"
FIELLER = "Fieller 1954 (from memory)"
STUDENT = "Student's t with n_sheets - 3 degrees of freedom"


class JetToWireResponse(pa.DataFrameModel):
    """One row per trial and property that has an MD/CD: the parabola fitted to its sheets, or why there is none.

    ln(MD/CD) = intercept + linear_coefficient u + quadratic_coefficient u², with u the natural logarithm of
    jet_to_wire_ratio over center_jet_to_wire_ratio. It holds between the lowest and the highest ratio tried.
    """

    trial: str = columns.trial
    property: str = shared.property_name
    n_sheets: Integer = column(
        "Sheets that have both a jet-to-wire ratio and an MD/CD of the property on the preferred basis.",
        unit="1",
        ge=0,
    )
    n_trial_points: Integer = column("Trial points of those sheets.", unit="1", ge=0)
    n_ratios: Integer = column(
        "Ratios tried that are clearly different: the most of which any two differ by 0.02 or more.",
        unit="1",
        source="common practice, no source",
        ge=0,
    )
    lowest_jet_to_wire_ratio: float = column("Lowest ratio of those sheets.", unit="1", nullable=True, gt=0)
    highest_jet_to_wire_ratio: float = column("Highest ratio of those sheets.", unit="1", nullable=True, gt=0)
    furnishes: str = column("Furnishes of those sheets' layers, separated by commas.", nullable=True)
    center_jet_to_wire_ratio: float = column(
        "Ratio that the fit is centred at: the geometric mean of the sheets' ratios.",
        unit="1",
        nullable=True,
        gt=0,
    )
    intercept: float = column(
        "Natural logarithm of the fitted MD/CD at the centre.", unit="1", source=LEAST_SQUARES, nullable=True
    )
    linear_coefficient: float = column(
        "Coefficient of the natural logarithm of ratio over centre.",
        unit="1",
        source=LEAST_SQUARES,
        nullable=True,
    )
    quadratic_coefficient: float = column(
        "Coefficient of the square of that logarithm; above 0 the curve bends upwards.",
        unit="1",
        source=LEAST_SQUARES,
        nullable=True,
    )
    residual_s: float = column(
        "Residual standard deviation of the natural logarithm of MD/CD: small ones are about relative scatter. It has "
        "n_sheets - 3 degrees of freedom.",
        unit="1",
        nullable=True,
        ge=0,
    )
    minimum_jet_to_wire_ratio: float = column(
        "Ratio at which the fitted MD/CD is least; missing where the curve does not bend upwards at 95 % confidence, "
        "or would be least beyond the ratios tried.",
        unit="1",
        source=LEAST_SQUARES,
        nullable=True,
        gt=0,
    )
    minimum_jet_to_wire_ratio_low: float = column(
        "Lower end of the 95 % interval of that ratio; missing where it lies below the lowest ratio tried.",
        unit="1",
        source=FIELLER,
        nullable=True,
        gt=0,
    )
    minimum_jet_to_wire_ratio_high: float = column(
        "Upper end of that interval; missing where it lies above the highest ratio tried.",
        unit="1",
        source=FIELLER,
        nullable=True,
        gt=0,
    )
    md_cd_ratio_at_minimum: float = column(
        "Fitted MD/CD at the minimum.", unit="1", source=LEAST_SQUARES, nullable=True, gt=0
    )
    md_cd_ratio_at_minimum_low: float = column(
        "Lower end of the 95 % interval of the mean response there.",
        unit="1",
        source=STUDENT,
        nullable=True,
        gt=0,
    )
    md_cd_ratio_at_minimum_high: float = column(
        "Upper end of that interval.", unit="1", source=STUDENT, nullable=True, gt=0
    )
    lack_of_fit_p: float = column(
        "Probability of trial points as far off the curve as these, if the ratio alone tells them apart; below 0.01 "
        "something else differs between them, or the form does not suit, and the intervals are not to be trusted. "
        "Missing where trial points or sheets are too few to tell.",
        unit="1",
        source="F test against the scatter between sheets of a trial point, Draper & Smith (from memory)",
        nullable=True,
        ge=0,
        le=1,
    )
    outcome: str = column(
        "minimum: found within the ratios tried; outside_range: the curve bends upwards but would be least beyond "
        "them; no_minimum: it does not bend upwards at 95 % confidence; not_fitted: too few sheets or ratios.",
        isin=("minimum", "outside_range", "no_minimum", "not_fitted"),
    )
    reason: str = column(
        "Why there is no fit or no minimum, and what speaks against the fit; missing where there is nothing.",
        nullable=True,
    )

    class Config:
        name = "jet_to_wire_response"
        strict = True
