"""Tensile: one test piece pulled to break."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.names import REMARKS
from schemas.records.record import Record


class Tensile(Record):
    """One row per tensile test piece, as the tester exported it.

    A tester gives raw values (force, elongation, energy, slope, with width and span), results per width, or
    both; where both are present, results are computed from the raw values.
    """

    tester: str = columns.tester
    sheet_id: str = columns.sheet_id
    direction: str = columns.direction
    specimen_no: Integer = column(
        "Number of the test piece within sheet and direction, counted from 1.", unit="1", ge=1
    )
    replicate_no: Integer = columns.replicate_no
    width_mm: float = column("Width of the test piece.", unit="mm", nullable=True, ge=1, le=200)
    span_mm: float = column(
        "Free length between the clamps.", unit="mm", source="ISO 1924", nullable=True, ge=5, le=500
    )
    rate_mm_min: float = column("Rate of elongation.", unit="mm/min", nullable=True, gt=0, le=10_000)
    max_force_n: float = column("Maximum force.", unit="N", nullable=True, gt=0, le=10_000)
    elongation_mm: float = column("Elongation at maximum force.", unit="mm", nullable=True, gt=0, le=500)
    energy_j: float = column(
        "Work done on the test piece up to maximum force.", unit="J", nullable=True, gt=0, le=1000
    )
    max_slope_n_mm: float = column(
        "Maximum slope of force against elongation.", unit="N/mm", nullable=True, gt=0, le=100_000
    )
    tensile_strength_kn_m: float = column(
        "Maximum force per width, exported by the tester.",
        unit="kN/m",
        source="ISO 1924",
        nullable=True,
        gt=0,
        le=500,
    )
    stretch_pct: float = column(
        "Elongation at maximum force over the span, exported by the tester.",
        unit="%",
        source="ISO 1924",
        nullable=True,
        gt=0,
        le=100,
    )
    tea_j_m2: float = column(
        "Energy to maximum force per area between the clamps, exported by the tester.",
        unit="J/m2",
        source="ISO 1924",
        nullable=True,
        gt=0,
        le=50_000,
    )
    tensile_stiffness_kn_m: float = column(
        "Maximum slope of force per width against strain, exported by the tester.",
        unit="kN/m",
        source="ISO 1924-3",
        nullable=True,
        gt=0,
        le=50_000,
    )
    break_position_mm: float = column(
        "Distance of the break from the nearer clamp.", unit="mm", nullable=True, ge=0, le=500
    )
    remark: str = column("Remark on the test.", isin=REMARKS, nullable=True)
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator
    note: str = columns.note

    class Config:
        name = "tensile"
        metadata = {  # noqa: RUF012
            "key": ("tester", "sheet_id", "direction", "specimen_no", "replicate_no", "tested_at_utc"),
            "time": "tested_at_utc",
            "atmosphere": "TRUE",
        }

    @pa.dataframe_check(error="give the maximum force with the width, or the tensile strength")
    def strength_is_determined(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """Tensile strength is stated, or follows from force and width."""
        from_force = frame["max_force_n"].notna() & frame["width_mm"].notna()
        return frame["tensile_strength_kn_m"].notna() | from_force
