"""Dates of the demo laboratory: its working days, and the failures in its test rooms.

The clocks went back on Sunday 25 October; the last sheets are formed three days later, so the room logs include the
change. The failures in the rooms come after the last regular tests.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

ZONE = "Europe/Helsinki"

LAST_DAY = np.datetime64("2026-10-28")
"""The last working day on which sheets are formed; with more sheets, the first day is earlier."""


@dataclass(frozen=True)
class Period:
    """A period in UTC."""

    begin: pd.Timestamp
    end: pd.Timestamp


def _utc(local: str) -> pd.Timestamp:
    return pd.Timestamp(local, tz=ZONE).tz_convert("UTC").tz_localize(None)


LOGGER_DEAD = Period(_utc("2026-10-30 09:00"), _utc("2026-10-30 15:00"))
"""The logger of the room for SI testers had no battery on the Friday."""

AIR_CONDITIONING_DOWN = Period(_utc("2026-10-30 18:00"), _utc("2026-11-02 07:00"))
"""In the same room, the air conditioning failed over the following weekend."""

LOGS = Period(_utc("2026-10-23 00:00"), _utc("2026-11-03 00:00"))
"""The minimum period of the room logs; they begin earlier if sheets are formed earlier."""
