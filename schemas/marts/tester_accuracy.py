"""Tester accuracy: what the settings say of how far each tester may be off."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Numbers, column


class TesterAccuracy(pa.DataFrameModel):
    """One row per tester with a stated accuracy: its largest errors, as set in lab.toml in this run."""

    tester: str = columns.tester
    force_pct: float = column(
        "Largest error of the force, in percent of the reading.", unit="%", nullable=True, ge=0
    )
    elongation_mm: float = column(
        "Largest error of the elongation; energy and slope use its relative size at the mean elongation at "
        "maximum force.",
        unit="mm",
        nullable=True,
        ge=0,
    )
    width_mm: float = column("Largest error of the width of test pieces.", unit="mm", nullable=True, ge=0)
    span_mm: float = column(
        "Largest error of the free length between the clamps.", unit="mm", nullable=True, ge=0
    )
    mass_g: float = column("Largest error of a mass.", unit="g", nullable=True, ge=0)
    area_pct: float = column("Largest error of the weighed area, in percent.", unit="%", nullable=True, ge=0)
    thickness_um: float = column(
        "Largest error of a thickness reading, of one sheet or of the whole pack.",
        unit="um",
        nullable=True,
        ge=0,
    )
    value_properties: str = column(
        "Properties of further tests with an accuracy, separated by commas.", nullable=True
    )
    values_pct: Numbers = column(
        "Largest error of a reading of each of these properties, in percent of it.", unit="%", nullable=True
    )

    class Config:
        name = "tester_accuracy"
        strict = True
