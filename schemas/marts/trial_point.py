"""Trial point: mean conditions and properties of every trial point, in one wide table."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.marts import shared
from schemas.marts.quantities import of_a_trial_point, with_columns


@with_columns(of_a_trial_point())
class TrialPoint(pa.DataFrameModel):
    """One row per trial point: means over its sheets and the spread between them."""

    trial: str = columns.trial
    trial_point: str = columns.trial_point
    n_sheets: Integer = column("Sheets formed.", unit="1")
    first_formed_at_utc: Timestamp = column(
        "When the first of them was formed, in UTC.", unit="UTC", nullable=True
    )
    last_formed_at_utc: Timestamp = column(
        "When the last of them was formed, in UTC.", unit="UTC", nullable=True
    )
    n_layers: float = column("Mean number of layers.", unit="1")
    target_grammage_g_m2: float = column("Mean target grammage.", unit="g/m2", nullable=True)
    wire_speed_m_min: float = column("Mean wire speed.", unit="m/min", nullable=True)
    jet_speed_m_min: float = column("Mean jet speed.", unit="m/min", nullable=True)
    jet_to_wire_ratio: float = column("Mean jet-to-wire ratio of the sheets.", unit="1", nullable=True)
    consistency_pct: float = column("Mean consistency.", unit="%", nullable=True)
    stock_volume_l: float = column("Mean stock volume of a sheet.", unit="L", nullable=True)
    oven_dry_mass_g: float = column("Mean oven-dry mass sprayed for a sheet.", unit="g", nullable=True)
    predicted_grammage_g_m2: float = column(
        "Mean oven-dry grammage if all that was sprayed stays on the forming area.",
        unit="g/m2",
        nullable=True,
    )
    n_sheets_with_carry_over: Integer = column(
        "Sheets with a layer whose tank carried another furnish over; missing where no log tells.",
        unit="1",
        nullable=True,
    )
    grammage_basis: str = shared.grammage_basis
    thickness_kind: str = shared.thickness_kind
    admitted_verdicts: str = shared.admitted_verdicts

    class Config:
        name = "trial_point"
        strict = True
