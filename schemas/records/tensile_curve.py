"""Tensile curve: force against elongation of one test piece, point by point as exported, folded as stored."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Numbers, Timestamp, column
from schemas.records.record import Record


class _OfAPiece(Record):
    """One row per test piece: which piece a curve belongs to."""

    tester: str = columns.tester
    sheet_id: str = columns.sheet_id
    direction: str = columns.direction
    specimen_no: Integer = column(
        "Number of the test piece within sheet and direction, counted from 1.", unit="1", ge=1
    )
    replicate_no: Integer = columns.replicate_no
    tested_at_utc: Timestamp = columns.tested_at_utc
    width_mm: float = column("Width of the test piece.", unit="mm", nullable=True, ge=1, le=200)
    span_mm: float = column(
        "Free length between the clamps.", unit="mm", source="ISO 1924", nullable=True, ge=5, le=500
    )


class TensileCurvePoint(_OfAPiece):
    """One row per point of a tensile curve, in the order of the export."""

    elongation_mm: float = column("Elongation.", unit="mm", nullable=True, ge=-50, le=500)
    strain_pct: float = column(
        "Elongation over the span, where the export gives it instead.",
        unit="%",
        nullable=True,
        ge=-50,
        le=500,
    )
    force_n: float = column("Force.", unit="N", ge=-1000, le=10_000)

    class Config:
        name = "tensile_curve"
        metadata = {  # noqa: RUF012
            "key": ("tester", "sheet_id", "direction", "specimen_no", "replicate_no", "tested_at_utc"),
            "time": "tested_at_utc",
            "atmosphere": "TRUE",
        }

    @pa.dataframe_check(error="give the elongation, or the strain with the span")
    def elongation_is_determined(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """Elongation is stated, or follows from strain and span."""
        from_strain = frame["strain_pct"].notna() & frame["span_mm"].notna()
        return frame["elongation_mm"].notna() | from_strain


class TensileCurve(_OfAPiece):
    """One row per tensile curve: the points of one test piece in one file, as lists in the order of the export."""

    elongation_mm: Numbers = column("Elongation at each point.", unit="mm")
    force_n: Numbers = column("Force at each point.", unit="N")
    last_line_number: Integer = column("Line of the last point.", unit="1", ge=1)
    n_points: Integer = column("Points of the curve.", unit="1", ge=1)

    class Config:
        name = "tensile_curve"
        metadata = TensileCurvePoint.Config.metadata
