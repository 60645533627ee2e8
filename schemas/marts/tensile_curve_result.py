"""Tensile curve result: what raw curves show, beside what the tester gave."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column


class TensileCurveResult(pa.DataFrameModel):
    """One row per raw tensile curve that counts, beside the tester's own results of the same piece."""

    sheet_id: str = columns.sheet_id
    direction: str = columns.direction
    specimen_no: Integer = column("Test piece within sheet and direction, from 1.", unit="1")
    replicate_no: Integer = column("Measurement of the piece's number within sheet and direction.", unit="1")
    tester: str = columns.tester
    tested_at_utc: Timestamp = columns.tested_at_utc
    results_origin: str = column(
        "Where the piece's raw values come from: the tester, or this curve.",
        isin=("tester", "curve"),
        nullable=True,
    )
    n_points: Integer = column("Points of the curve.", unit="1")
    usable: Flag = column("Whether the curve could be reduced at all.")
    findings: str = column(
        "What is noticeable about the curve, separated by commas: too_few_points, non_finite, "
        "non_monotone_elongation or no_rise make it unusable; saturated, clamp_slip or early_stop cast doubt on it.",
        nullable=True,
    )
    disagreement: str = column(
        "The likely reason where curve and tester disagree by more than the settings allow.",
        source="common practice, no source",
        nullable=True,
    )
    max_force_n: float = column(
        "Maximum force, from the force zero.", unit="N", source="ISO 1924-3", nullable=True
    )
    tested_max_force_n: float = column("Maximum force as the tester gave it.", unit="N", nullable=True)
    force_difference_pct: float = column("Curve over tester, less one.", unit="%", nullable=True)
    elongation_at_max_mm: float = column(
        "Elongation at maximum force, from the end of the slack.",
        unit="mm",
        source="ISO 1924-3",
        nullable=True,
    )
    tested_elongation_mm: float = column("Elongation as the tester gave it.", unit="mm", nullable=True)
    elongation_difference_pct: float = column("Curve over tester, less one.", unit="%", nullable=True)
    elongation_at_break_mm: float = column(
        "Elongation at the last point before the break; missing where the record ends before it.",
        unit="mm",
        nullable=True,
    )
    energy_to_max_j: float = column("Work up to maximum force.", unit="J", source="ISO 1924-3", nullable=True)
    tested_energy_j: float = column("Energy as the tester gave it.", unit="J", nullable=True)
    energy_difference_pct: float = column("Curve over tester, less one.", unit="%", nullable=True)
    max_slope_n_mm: float = column(
        "Largest slope of a least-squares line sliding along the curve.",
        unit="N/mm",
        source="ISO 1924-3",
        nullable=True,
    )
    tested_max_slope_n_mm: float = column("Maximum slope as the tester gave it.", unit="N/mm", nullable=True)
    slope_difference_pct: float = column("Curve over tester, less one.", unit="%", nullable=True)
    slack_removed_mm: float = column(
        "Recorded elongation at which the piece is taut.", unit="mm", nullable=True
    )
    force_zero_n: float = column("Recorded force of the unloaded piece.", unit="N", nullable=True)
    bend_elongation_mm: float = column(
        "Elongation where the tangent at the maximum slope meets the line of the curve's last part; missing where "
        "the curve has no bend.",
        unit="mm",
        source="common practice, no source",
        nullable=True,
    )
    bend_force_n: float = column("Force of the bend.", unit="N", nullable=True)
    file_hash: str = column("SHA-256 of the file's bytes; the archive keeps the file under it.")
    line_number: Integer = column("Line of the curve's first point.", unit="1")
    last_line_number: Integer = column("Line of the curve's last point.", unit="1")

    class Config:
        name = "tensile_curve_result"
        strict = True
