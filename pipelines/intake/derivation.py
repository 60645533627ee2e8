"""Fill in missing cells of a record that other cells of the same row determine."""

import numpy as np
import pandas as pd

from pipelines.physics.atmosphere import relative_humidity_from_wet_bulb_pct


def derive_missing(kind: str, frame: pd.DataFrame) -> pd.DataFrame:
    """Return a copy of a kind's frame with the missing cells that its other columns determine.

    For ``climate``: the relative humidity, from dry bulb, wet bulb and air pressure. Cells with a value stay
    unchanged; cells that cannot be computed stay missing, and validation reports them. Other kinds are returned
    unchanged. The frame needs all columns of the kind's model.
    """
    if kind != "climate":
        return frame
    pressure = frame["air_pressure_kpa"]
    computed = relative_humidity_from_wet_bulb_pct(
        frame["temperature_c"].to_numpy(dtype=np.float64, na_value=np.nan),
        frame["wet_bulb_c"].to_numpy(dtype=np.float64, na_value=np.nan),
        # Validation reports an air pressure that no room has; nothing is computed from it.
        pressure.where(pressure.between(50, 110)).to_numpy(dtype=np.float64, na_value=np.nan),
    )
    reported = frame["relative_humidity_pct"]
    return frame.assign(relative_humidity_pct=reported.where(reported.notna(), computed))
