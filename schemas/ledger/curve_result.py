"""Curve result: what a stored tensile curve shows, as physics.curves reduced it."""

import pandera.pandas as pa

from schemas.columns import Flag, Integer, column
from schemas.ledger import shared


class CurveResult(pa.DataFrameModel):
    """One row per distinct tensile curve: what it shows once it is reduced."""

    record_key: str = column("What the curve is a measurement of, as one text.")
    record_digest: str = column("Digest of the curve's values: equal when all of them are.")
    reduced_under: str = column(
        "Fingerprint of the settings and of the reduction's version; when it changes, the curve is reduced again."
    )
    n_points: Integer = shared.n_points
    usable: Flag = shared.usable
    findings: str = shared.findings
    max_force_n: float = shared.max_force_n
    elongation_at_max_mm: float = shared.elongation_at_max_mm
    elongation_at_break_mm: float = shared.elongation_at_break_mm
    energy_to_max_j: float = shared.energy_to_max_j
    max_slope_n_mm: float = shared.max_slope_n_mm
    slack_removed_mm: float = shared.slack_removed_mm
    force_zero_n: float = shared.force_zero_n
    bend_elongation_mm: float = shared.bend_elongation_mm
    bend_force_n: float = shared.bend_force_n
