"""Basis weight: weighed pieces of a sheet."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class BasisWeight(Record):
    """One row per weighed piece of a sheet."""

    tester: str = columns.tester
    sheet_id: str = columns.sheet_id
    specimen_no: Integer = column("Piece of the sheet, counted from 1.", unit="1", ge=1)
    replicate_no: Integer = columns.replicate_no
    state: str = column(
        "State of the piece: conditioned in the test atmosphere, oven dry, or as received.",
        isin=("conditioned", "oven_dry", "as_received"),
    )
    mass_g: float = column("Mass of the piece.", unit="g", nullable=True, gt=0, le=1000)
    area_mm2: float = column("Area of the piece.", unit="mm2", nullable=True, gt=0, le=4_000_000)
    length_mm: float = column("Length of the piece.", unit="mm", nullable=True, gt=0, le=2000)
    width_mm: float = column("Width of the piece.", unit="mm", nullable=True, gt=0, le=2000)
    grammage_g_m2: float = column(
        "Grammage exported by the balance, used where mass and area are missing.",
        unit="g/m2",
        source="ISO 536",
        nullable=True,
        gt=0,
        le=5000,
    )
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator
    note: str = columns.note

    class Config:
        name = "basis_weight"
        metadata = {  # noqa: RUF012
            "key": ("tester", "sheet_id", "specimen_no", "replicate_no", "state", "tested_at_utc"),
            "time": "tested_at_utc",
            "atmosphere": "state = 'conditioned'",
        }

    @pa.dataframe_check(
        error="give mass with an area or both sides, or a grammage",
    )
    def grammage_is_determined(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """Grammage is stated, or follows from the mass and an area."""
        area = frame["area_mm2"].notna() | (frame["length_mm"].notna() & frame["width_mm"].notna())
        return frame["grammage_g_m2"].notna() | (frame["mass_g"].notna() & area)
