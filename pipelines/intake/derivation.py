"""Completing records with what follows from their own cells, between interpreting and validating them."""

import numpy as np
import pandas as pd

from pipelines.physics.atmosphere import relative_humidity_from_wet_bulb_pct


def derive_missing(kind: str, frame: pd.DataFrame) -> pd.DataFrame:
    """Return a kind's frame with the cells filled in that follow from others of the same row.

    Of ``climate``, a missing relative humidity follows from dry and wet bulb and the air pressure. A cell that
    is there stays as it is, and one that cannot follow stays missing, for validation to tell. The frame given
    is not changed. Needs the columns of the kind's model; other kinds come back as they are.
    """
    if kind != "climate":
        return frame
    pressure = frame["air_pressure_kpa"]
    followed = relative_humidity_from_wet_bulb_pct(
        frame["temperature_c"].to_numpy(dtype=np.float64, na_value=np.nan),
        frame["wet_bulb_c"].to_numpy(dtype=np.float64, na_value=np.nan),
        # A pressure that no room has is a fault of the row, which validation tells.
        pressure.where(pressure.between(50, 110)).to_numpy(dtype=np.float64, na_value=np.nan),
    )
    stated = frame["relative_humidity_pct"]
    return frame.assign(relative_humidity_pct=stated.where(stated.notna(), followed))
