"""How a column is declared, and the columns that more than one table has.

A column's name, type, unit, range, description and source are declared once, in the pandera model of its table
(schemas/records, schemas/marts, schemas/ledger). Validation, the table's DDL, its comments
and the data dictionary are generated from there. A column name ends in its unit; the name before that suffix is the
*quantity*, which export profiles use: the column ``max_force_n`` imports the quantity ``max_force`` in any unit.
"""

from typing import Annotated, Any

import pandas as pd
import pandera.pandas as pa
from pandera.engines import pandas_engine

from schemas.units import SUFFIX_OF_UNIT as SUFFIX_OF_UNIT
from schemas.units import suffix_of

Timestamp = Annotated[pandas_engine.DateTime, {}, "us", None, False, {}]
"""A point in time in UTC, without a zone of its own; such columns end in ``_utc``."""

Integer = pd.Int64Dtype
"""A whole number that may be missing."""

Flag = pd.BooleanDtype
"""True, false or missing."""

Numbers = pa.Object
"""A list of numbers in one cell."""


def column(
    description: str,
    *,
    unit: str | None = None,
    source: str | None = None,
    nullable: bool = False,
    **checks: Any,
) -> Any:
    """Declare a column of a pandera model.

    ``unit`` is a UCUM code, or None for text and times; ``source`` names the standard or
    book of a defined quantity; ``checks`` are those of ``pandera.Field`` (``gt``, ``le``, ``isin``, …).
    """
    return pa.Field(
        description=description, nullable=nullable, metadata={"unit": unit, "source": source}, **checks
    )


def quantity_of(name: str, unit: str | None) -> str:
    """Return the name of a column's quantity: the column's name without the ending of its unit.

    >>> quantity_of("max_force_n", "N")
    'max_force'
    >>> quantity_of("sheet_id", None)
    'sheet_id'
    """
    suffix = suffix_of(unit) if unit else ""
    return name.removesuffix(f"_{suffix}") if suffix else name


DIRECTIONS = ("MD", "CD")

file_hash = column("SHA-256 of the file's bytes, under which the archive keeps the file.")
record_key = column("Key of the measurement: what the row is a measurement of, as one text.")
line_number = column("Line of the file, counted from 1.", unit="1", ge=1)
sheet_id = column("The laboratory's own sheet number.", str_length={"min_value": 1, "max_value": 80})
trial = column("Trial the sheet was made for.", str_length={"min_value": 1, "max_value": 80})
trial_point = column(
    "Trial point: one combination of furnish and conditions within the trial.",
    str_length={"min_value": 1, "max_value": 80},
)
tester = column("This laboratory's name for the instrument.", str_length={"min_value": 1, "max_value": 80})
operator = column("Operator's name as given in the export or the log.", nullable=True)
note = column("Free text from the export or the log.", nullable=True)
direction = column(
    "Direction the force acted in: MD along the drum's running direction, CD across it.", isin=DIRECTIONS
)
tested_at_utc = column("Time of the measurement, in UTC.", unit="UTC", nullable=True)
replicate_no = column(
    "Number of the measurement of the same piece or position; a retest has a new number.",
    unit="1",
    nullable=True,
    ge=1,
)
tank = column("Stock tank from which the layer was sprayed.", nullable=True)
furnish = column("Name of the furnish batch.", nullable=True)
recipe = column("Name of the stored machine settings.", nullable=True)
consistency_pct = column(
    "Fibre consistency of the stock, mass of dry fibre per mass of stock.",
    unit="%",
    source="ISO 4119 (from memory)",
    nullable=True,
    gt=0,
    le=10,
)
stock_volume_l = column("Stock sprayed for the layer.", unit="L", nullable=True, gt=0, le=1000)
flow_rate_l_min = column("Flow rate of the stock to the nozzle.", unit="L/min", nullable=True, gt=0, le=200)
wire_speed_m_min = column(
    "Speed of the forming fabric on the drum.", unit="m/min", nullable=True, gt=0, le=4000
)
dewatering_time_s = column(
    "Time the drum keeps running to dewater the sheet.", unit="s", nullable=True, ge=0, le=7200
)
compaction_speed_m_min = column(
    "Drum speed during compaction of the formed sheet.", unit="m/min", nullable=True, ge=0, le=4000
)
nozzle_orifice_mm = column("Bore of one nozzle.", unit="mm", nullable=True, gt=0, le=20)
target_grammage_g_m2 = column("Target grammage of the sheet.", unit="g/m2", nullable=True, gt=0, le=2000)
room = column("Room or cabinet with an atmosphere of its own.", str_length={"min_value": 1, "max_value": 80})
