"""Stock: one reading of any test of a furnish."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class Stock(Record):
    """One row per reading of a property that the registry of properties declares with readings = "stock"."""

    tester: str = columns.tester
    furnish: str = column("Name of the furnish batch.", str_length={"min_value": 1, "max_value": 80})
    property: str = column("Name of the property in the registry of properties.")
    method: str = column("Method or setting of the tester, where it has several.", nullable=True)
    specimen_no: Integer = column(
        "Number of the reading within furnish and property, counted from 1.", unit="1", ge=1
    )
    replicate_no: Integer = columns.replicate_no
    value: float = column("Value in the unit of the property.", nullable=True)
    unit: str = column("Unit of the value (UCUM): that of the property.", nullable=True)
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator
    note: str = columns.note

    class Config:
        name = "stock"
        metadata = {  # noqa: RUF012
            "key": (
                "tester",
                "furnish",
                "property",
                "method",
                "specimen_no",
                "replicate_no",
                "tested_at_utc",
            ),
            "time": "tested_at_utc",
        }

    @pa.dataframe_check(error="give the value")
    def value_is_determined(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """The value is stated."""
        return frame["value"].notna()
