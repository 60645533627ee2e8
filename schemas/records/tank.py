"""Tank: what happened to a stock tank."""

from schemas import columns
from schemas.columns import Timestamp, column
from schemas.records.record import Record


class Tank(Record):
    """One row per event on a stock tank."""

    tank: str = column("Stock tank.", str_length={"min_value": 1, "max_value": 40})
    event: str = column("Event on the tank.", isin=("filled", "consistency_checked", "drained", "cleaned"))
    happened_at_utc: Timestamp = column("Time of the event, in UTC.", unit="UTC")
    furnish: str = columns.furnish
    volume_l: float = column("Stock filled in.", unit="L", nullable=True, ge=0, le=10000)
    consistency_pct: float = columns.consistency_pct
    temperature_c: float = column("Stock temperature.", unit="Cel", nullable=True, ge=0, le=100)
    ph: float = column("pH of the stock.", unit="[pH]", nullable=True, ge=0, le=14)
    note: str = columns.note

    class Config:
        name = "tank"
        metadata = {"key": ("tank", "event", "happened_at_utc"), "time": "happened_at_utc"}  # noqa: RUF012
