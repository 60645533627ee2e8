"""Conditioning: the stays of sheets in an atmosphere."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Timestamp, column
from schemas.records.record import Record


class Conditioning(Record):
    """One row per stay of a sheet in a room."""

    sheet_id: str = columns.sheet_id
    room: str = columns.room
    preconditioned: str = column(
        "Side from which the sheet was conditioned: dry or wet.",
        source="ISO 187 (from memory); TAPPI T 402",
        isin=("dry_side", "wet_side"),
        nullable=True,
    )
    in_at_utc: Timestamp = column("Time at which the sheet was brought into the room, in UTC.", unit="UTC")
    out_at_utc: Timestamp = column(
        "Time at which the sheet was taken out of the room, in UTC; missing while it is inside.",
        unit="UTC",
        nullable=True,
    )
    note: str = columns.note

    class Config:
        name = "conditioning"
        metadata = {"key": ("sheet_id", "room", "in_at_utc"), "time": "in_at_utc"}  # noqa: RUF012

    @pa.dataframe_check(error="the sheet must be brought in before it is taken out")
    def out_is_after_in(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """A stay ends after it begins."""
        return frame["out_at_utc"].isna() | (frame["out_at_utc"] > frame["in_at_utc"])
