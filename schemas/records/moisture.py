"""Moisture: oven-dry pairs."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class Moisture(Record):
    """One row per piece weighed before and after oven drying."""

    tester: str = columns.tester
    sheet_id: str = columns.sheet_id
    specimen_no: Integer = column("Piece of the sheet, counted from 1.", unit="1", ge=1)
    replicate_no: Integer = columns.replicate_no
    mass_before_g: float = column(
        "Mass before drying, in the state the sheet is tested in.", unit="g", gt=0, le=1000
    )
    mass_after_g: float = column("Mass after drying to constant mass.", unit="g", gt=0, le=1000)
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator

    class Config:
        name = "moisture"
        metadata = {  # noqa: RUF012
            "key": ("tester", "sheet_id", "specimen_no", "replicate_no", "tested_at_utc"),
            "time": "tested_at_utc",
            "atmosphere": "TRUE",
        }

    @pa.dataframe_check(error="the mass after drying must not exceed the mass before: swapped columns?")
    def drying_loses_mass(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """Water leaves the piece; it does not come in."""
        return frame["mass_after_g"] <= frame["mass_before_g"]
