"""Tensile curve result: what raw curves show, beside what the tester gave."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.ledger import shared


class TensileCurveResult(pa.DataFrameModel):
    """One row per raw tensile curve in use, beside the tester's own results of the same piece."""

    sheet_id: str = columns.sheet_id
    direction: str = columns.direction
    specimen_no: Integer = column(
        "Number of the test piece within sheet and direction, counted from 1.", unit="1"
    )
    replicate_no: Integer = column("Measurement of the piece's number within sheet and direction.", unit="1")
    tester: str = columns.tester
    tested_at_utc: Timestamp = columns.tested_at_utc
    results_origin: str = column(
        "Source of the piece's raw values: the tester or this curve.",
        isin=("tester", "curve"),
        nullable=True,
    )
    n_points: Integer = shared.n_points
    usable: Flag = shared.usable
    findings: str = shared.findings
    disagreement: str = column(
        "Likely reason why curve and tester differ by more than the limits in the settings.",
        source="common practice, no source",
        nullable=True,
    )
    max_force_n: float = shared.max_force_n
    instrument_max_force_n: float = column("Maximum force exported by the tester.", unit="N", nullable=True)
    force_difference_pct: float = column(
        "Difference from the tester's result, in percent of that.", unit="%", nullable=True
    )
    elongation_at_max_mm: float = shared.elongation_at_max_mm
    instrument_elongation_mm: float = column("Elongation exported by the tester.", unit="mm", nullable=True)
    elongation_difference_pct: float = column(
        "Difference from the tester's result, in percent of that.", unit="%", nullable=True
    )
    elongation_at_break_mm: float = shared.elongation_at_break_mm
    energy_to_max_j: float = shared.energy_to_max_j
    instrument_energy_j: float = column("Energy exported by the tester.", unit="J", nullable=True)
    energy_difference_pct: float = column(
        "Difference from the tester's result, in percent of that.", unit="%", nullable=True
    )
    max_slope_n_mm: float = shared.max_slope_n_mm
    instrument_max_slope_n_mm: float = column(
        "Maximum slope exported by the tester.", unit="N/mm", nullable=True
    )
    slope_difference_pct: float = column(
        "Difference from the tester's result, in percent of that.", unit="%", nullable=True
    )
    slack_removed_mm: float = shared.slack_removed_mm
    force_zero_n: float = shared.force_zero_n
    bend_elongation_mm: float = shared.bend_elongation_mm
    bend_force_n: float = shared.bend_force_n
    file_hash: str = columns.file_hash
    line_number: Integer = column("Line of the curve's first point.", unit="1")
    last_line_number: Integer = column("Line of the curve's last point.", unit="1")

    class Config:
        name = "tensile_curve_result"
        strict = True
