"""Trial point property: every property of every trial point, tidy, with the sheet as the replicate."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, column
from schemas.marts import shared
from schemas.marts.property_columns import with_columns


@with_columns(shared.uncertainty())
class TrialPointProperty(pa.DataFrameModel):
    """One row per trial point, direction, property, basis, pressure and further condition that is never pooled.

    The sheet is the replicate.
    """

    trial: str = columns.trial
    trial_point: str = columns.trial_point
    direction: str = shared.direction
    property: str = shared.property_name
    basis: str = shared.basis
    side: str = shared.side
    ply: str = shared.ply
    treatment: str = shared.treatment
    method: str = shared.method
    pressure_kpa: float = shared.pressure_kpa
    test_time_s: float = shared.test_time_s
    length_mm: float = shared.length_mm
    rate_mm_min: float = shared.rate_mm_min
    n_sheets: Integer = column("Number of sheets in the mean: those with a reading that counts.", unit="1")
    n_readings: Integer = column("Number of readings of the sheets in the mean.", unit="1")
    n_left_out: Integer = column(
        "Number of readings of the trial point's sheets left out because of their atmosphere or a remark.",
        unit="1",
    )
    admitted_verdicts: str = shared.admitted_verdicts
    atmosphere_verdict: str = shared.worst_verdict()
    flags: str = shared.flags
    value: float = column("Mean of the sheets' values; each sheet counts once.")
    unit: str = shared.unit
    s: float = column(
        "Sample standard deviation between sheets; missing for fewer than two sheets.", nullable=True
    )
    cv_pct: float = shared.cv_pct
    uncertainty_of: str = shared.uncertainty_of
    assumption: str = shared.assumption
    preferred: bool = column(
        "Whether wide tables show this row: its basis is the one in the settings, and its pressure the "
        "preferred one, else the one with most sheets."
    )

    class Config:
        name = "trial_point_property"
        strict = True
