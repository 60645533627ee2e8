"""When things happen in the demo laboratory: its working days, and what befalls its test rooms.

The clocks were put back in the night to Sunday 25 October; the last sheets are made three days later, so that
the room logs span the change. What goes wrong in the rooms goes wrong after the last regular tests.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

ZONE = "Europe/Helsinki"

LAST_DAY = np.datetime64("2026-10-28")
"""The last working day on which sheets are formed; the more sheets, the further back the first one lies."""


@dataclass(frozen=True)
class Period:
    """A stretch of time, in UTC."""

    begin: pd.Timestamp
    end: pd.Timestamp


def _utc(local: str) -> pd.Timestamp:
    return pd.Timestamp(local, tz=ZONE).tz_convert("UTC").tz_localize(None)


LOGGER_DEAD = Period(_utc("2026-10-30 09:00"), _utc("2026-10-30 15:00"))
"""The logger of the room for SI testers had no battery on the Friday."""

AIR_CONDITIONING_DOWN = Period(_utc("2026-10-30 18:00"), _utc("2026-11-02 07:00"))
"""In the same room the air conditioning failed over the weekend that followed."""

LOGS = Period(_utc("2026-10-23 00:00"), _utc("2026-11-03 00:00"))
"""What the room logs cover at least; they begin earlier when sheets were made earlier."""
