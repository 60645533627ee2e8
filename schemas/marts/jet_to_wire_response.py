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
    jet_to_wire_ratio over center_jet_to_wire_ratio. It is valid between the lowest and the highest ratio tried.
    """

    trial: str = columns.trial
    property: str = shared.property_name
    n_sheets: Integer = column(
        "Number of sheets with a jet-to-wire ratio and an MD/CD of the property on the preferred basis.",
        unit="1",
        ge=0,
    )
    n_trial_points: Integer = column("Number of trial points of the sheets in the fit.", unit="1", ge=0)
    n_ratios: Integer = column(
        "Number of clearly different ratios tried: the largest number of which any two differ by 0.02 or "
        "more.",
        unit="1",
        source="common practice, no source",
        ge=0,
    )
    lowest_jet_to_wire_ratio: float = column(
        "Lowest ratio of the sheets in the fit.", unit="1", nullable=True, gt=0
    )
    highest_jet_to_wire_ratio: float = column(
        "Highest ratio of the sheets in the fit.", unit="1", nullable=True, gt=0
    )
    furnishes: str = column(
        "Furnishes of the layers of the sheets in the fit, separated by commas.", nullable=True
    )
    center_jet_to_wire_ratio: float = column(
        "Ratio at which the fit is centred: the geometric mean of the sheets' ratios.",
        unit="1",
        nullable=True,
        gt=0,
    )
    intercept: float = column(
        "Natural logarithm of the fitted MD/CD at the centre.", unit="1", source=LEAST_SQUARES, nullable=True
    )
    linear_coefficient: float = column(
        "Coefficient of u, the natural logarithm of ratio over centre.",
        unit="1",
        source=LEAST_SQUARES,
        nullable=True,
    )
    quadratic_coefficient: float = column(
        "Coefficient of u²; above 0 the curve bends upwards.",
        unit="1",
        source=LEAST_SQUARES,
        nullable=True,
    )
    residual_s: float = column(
        "Residual standard deviation of the natural logarithm of MD/CD, about the relative scatter where it "
        "is small, with n_sheets - 3 degrees of freedom.",
        unit="1",
        nullable=True,
        ge=0,
    )
    minimum_jet_to_wire_ratio: float = column(
        "Ratio at which the fitted MD/CD has its minimum; missing where the curve does not bend upwards at 95"
        " % confidence or the minimum lies outside the ratios tried.",
        unit="1",
        source=LEAST_SQUARES,
        nullable=True,
        gt=0,
    )
    minimum_jet_to_wire_ratio_low: float = column(
        "Lower end of the 95 % interval of the ratio at the minimum; missing where it lies below the lowest "
        "ratio tried.",
        unit="1",
        source=FIELLER,
        nullable=True,
        gt=0,
    )
    minimum_jet_to_wire_ratio_high: float = column(
        "Upper end of the 95 % interval of the ratio at the minimum; missing where it lies above the highest "
        "ratio tried.",
        unit="1",
        source=FIELLER,
        nullable=True,
        gt=0,
    )
    md_cd_ratio_at_minimum: float = column(
        "Fitted MD/CD at the minimum.", unit="1", source=LEAST_SQUARES, nullable=True, gt=0
    )
    md_cd_ratio_at_minimum_low: float = column(
        "Lower end of the 95 % interval of the mean response at the minimum.",
        unit="1",
        source=STUDENT,
        nullable=True,
        gt=0,
    )
    md_cd_ratio_at_minimum_high: float = column(
        "Upper end of the same interval.", unit="1", source=STUDENT, nullable=True, gt=0
    )
    lack_of_fit_p: float = column(
        "p-value of the lack-of-fit test: whether trial points differ by more than the ratio explains. Below "
        "0.01 do not trust the intervals; missing with too few trial points or sheets for the test.",
        unit="1",
        source="F test against the scatter between sheets of a trial point, Draper & Smith (from memory)",
        nullable=True,
        ge=0,
        le=1,
    )
    outcome: str = column(
        "minimum: found within the ratios tried; outside_range: the curve bends upwards and its minimum lies "
        "outside them; no_minimum: it does not bend upwards at 95 % confidence; not_fitted: too few sheets or"
        " ratios.",
        isin=("minimum", "outside_range", "no_minimum", "not_fitted"),
    )
    reason: str = column(
        "Why there is no fit or no minimum, and why the fit is doubtful; missing without a reason.",
        nullable=True,
    )

    class Config:
        name = "jet_to_wire_response"
        strict = True
