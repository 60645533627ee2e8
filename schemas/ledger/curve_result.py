"""Curve result: what a stored tensile curve shows, as physics.curves reduced it."""

import pandera.pandas as pa

from schemas.columns import Flag, Integer, column


class CurveResult(pa.DataFrameModel):
    """One row per distinct tensile curve: what it shows once it is reduced."""

    record_key: str = column("What the curve is a measurement of, as one text.")
    record_digest: str = column("Digest of the curve's values: equal when all of them are.")
    reduced_under: str = column(
        "Fingerprint of the settings and of the reduction's version; when it changes, the curve is reduced again."
    )
    n_points: Integer = column("Points of the curve.", unit="1", ge=0)
    usable: Flag = column("Whether the curve could be reduced at all.")
    findings: str = column(
        "What is noticeable about the curve, separated by commas: too_few_points, non_finite, "
        "non_monotone_elongation or no_rise make it unusable; saturated, clamp_slip or early_stop cast doubt on it.",
        nullable=True,
    )
    max_force_n: float = column(
        "Maximum force, from the force zero.", unit="N", source="ISO 1924-3", nullable=True
    )
    elongation_at_max_mm: float = column(
        "Elongation at maximum force, from the end of the slack.",
        unit="mm",
        source="ISO 1924-3",
        nullable=True,
    )
    elongation_at_break_mm: float = column(
        "Elongation at the last point before the break; missing where the record ends before it.",
        unit="mm",
        nullable=True,
    )
    energy_to_max_j: float = column("Work up to maximum force.", unit="J", source="ISO 1924-3", nullable=True)
    max_slope_n_mm: float = column(
        "Largest slope of a least-squares line sliding along the curve.",
        unit="N/mm",
        source="ISO 1924-3",
        nullable=True,
    )
    slack_removed_mm: float = column(
        "Recorded elongation at which the piece is taut.", unit="mm", nullable=True
    )
    force_zero_n: float = column("Recorded force of the unloaded piece.", unit="N", nullable=True)
    bend_elongation_mm: float = column(
        "Elongation of the bend: where the tangent at the maximum slope meets the line of the curve's last part; "
        "missing where the curve has none.",
        unit="mm",
        source="common practice, no source",
        nullable=True,
    )
    bend_force_n: float = column("Force of the bend.", unit="N", nullable=True)
