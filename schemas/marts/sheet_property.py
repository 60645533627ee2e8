"""Sheet property: every property of every sheet, tidy."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, column
from schemas.marts import shared
from schemas.marts.property_columns import with_columns


@with_columns(shared.uncertainty())
class SheetProperty(pa.DataFrameModel):
    """One row per sheet, direction, property, basis and further condition that is never pooled, as method or side."""

    sheet_id: str = columns.sheet_id
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
    n: Integer = column(
        "Number of readings in the value: of both directions for a geometric mean or a ratio, of all means "
        "for a value computed from several.",
        unit="1",
    )
    n_left_out: Integer = shared.n_left_out
    admitted_verdicts: str = shared.admitted_verdicts
    atmosphere_verdict: str = shared.worst_verdict()
    flags: str = shared.flags
    value: float = column(
        "Mean of the readings; for an index, the mean of the pieces' indices, each computed with the sheet's "
        "mean grammage."
    )
    unit: str = shared.unit
    s: float = column(
        "Sample standard deviation within the sheet; missing for fewer than two readings and for a value "
        "computed from means.",
        nullable=True,
    )
    cv_pct: float = shared.cv_pct
    uncertainty_of: str = shared.uncertainty_of
    assumption: str = shared.assumption
    preferred: bool = column(
        "Whether wide tables show this row: its basis is the one in the settings, and its pressure the "
        "preferred one, else the one with most readings."
    )

    class Config:
        name = "sheet_property"
        strict = True
