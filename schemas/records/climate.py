"""Climate: what the logger of a room wrote."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Timestamp, column
from schemas.records.record import Record


class Climate(Record):
    """One row per reading of a room's climate logger.

    A logger gives the relative humidity, or the wet-bulb temperature with the air pressure from which the
    intake works it out.
    """

    room: str = columns.room
    read_at_utc: Timestamp = column("Time of the reading, in UTC.", unit="UTC")
    temperature_c: float = column("Air temperature (dry bulb).", unit="Cel", gt=-40, lt=80)
    relative_humidity_pct: float = column(
        "Relative humidity from the logger, else computed from the wet-bulb temperature.",
        unit="%",
        nullable=True,
        ge=0,
        le=100,
    )
    wet_bulb_c: float = column(
        "Wet-bulb temperature of an aspirated psychrometer.", unit="Cel", nullable=True, gt=-40, lt=80
    )
    air_pressure_kpa: float = column("Air pressure.", unit="kPa", nullable=True, ge=50, le=110)

    class Config:
        name = "climate"
        metadata = {"key": ("room", "read_at_utc"), "time": "read_at_utc"}  # noqa: RUF012

    @pa.dataframe_check(error="give the relative humidity, or the wet bulb with the air pressure")
    def humidity_is_determined(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """Relative humidity is stated, or followed from the wet bulb before validation."""
        return frame["relative_humidity_pct"].notna()

    @pa.dataframe_check(error="the wet bulb must not be warmer than the dry bulb: swapped columns?")
    def wet_bulb_is_not_warmer(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """Evaporation cools the wet bulb."""
        return frame["wet_bulb_c"].isna() | (frame["wet_bulb_c"] <= frame["temperature_c"] + 0.2)
