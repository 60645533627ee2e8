"""Jet-to-wire response curve: the fitted curves, ready to draw."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import column
from schemas.marts import shared
from schemas.marts.jet_to_wire_response import LEAST_SQUARES, STUDENT


class JetToWireResponseCurve(pa.DataFrameModel):
    """One row per trial, property and jet-to-wire ratio at which the fitted curve is published.

    The ratios are evenly spaced from the lowest to the highest ratio tried.
    """

    trial: str = columns.trial
    property: str = shared.property_name
    jet_to_wire_ratio: float = column("Jet-to-wire ratio.", unit="1", gt=0)
    md_cd_ratio: float = column(
        "Fitted MD/CD: exponential of the fitted logarithm.", unit="1", source=LEAST_SQUARES, gt=0
    )
    band_low: float = column(
        "Lower end of the 95 % interval of the mean response at this ratio.", unit="1", source=STUDENT, gt=0
    )
    band_high: float = column("Upper end of the same interval.", unit="1", source=STUDENT, gt=0)

    class Config:
        name = "jet_to_wire_response_curve"
        strict = True
