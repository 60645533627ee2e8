"""Drying: how a sheet was dried."""

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class Drying(Record):
    """One row per drying step of a sheet."""

    sheet_id: str = columns.sheet_id
    step_no: Integer = column("Number of the step, counted from 1.", unit="1", ge=1, le=20)
    method: str = column("Drying method.", isin=("cylinder", "plate", "air", "oven"))
    temperature_c: float = column(
        "Temperature of the surface or the air.", unit="Cel", nullable=True, ge=0, le=250
    )
    drying_time_s: float = column("Duration of the drying step.", unit="s", nullable=True, gt=0, le=1_000_000)
    restraint: str = column(
        "full: restrained on all sides; md: restrained in MD only; none: free to shrink.",
        isin=("full", "md", "none"),
        nullable=True,
    )
    dried_at_utc: Timestamp = column("Time of the event, in UTC.", unit="UTC", nullable=True)

    class Config:
        name = "drying"
        metadata = {"key": ("sheet_id", "step_no"), "time": "dried_at_utc"}  # noqa: RUF012
