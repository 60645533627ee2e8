"""Test piece: every tensile test of a known sheet, raw and indexed."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.marts import shared
from schemas.names import REMARKS


class TestPiece(pa.DataFrameModel):
    """One row per tensile test piece of a known sheet.

    Results are computed from the raw values; where these are missing, they are the tester's own.
    """

    sheet_id: str = columns.sheet_id
    trial: str = columns.trial
    trial_point: str = columns.trial_point
    direction: str = columns.direction
    specimen_no: Integer = column(
        "Number of the test piece within sheet and direction, counted from 1.", unit="1"
    )
    replicate_no: Integer = column(
        "Number of the measurement of a piece with this number, sheet and direction: from the export, else in"
        " order of time.",
        unit="1",
    )
    tester: str = columns.tester
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator
    remark: str = column("Remark on the test.", isin=REMARKS, nullable=True)
    results_origin: str = column(
        "Source of the raw values: the tester or the piece's raw curve; missing where the piece only has a "
        "curve that cannot be evaluated.",
        isin=("tester", "curve"),
        nullable=True,
    )
    curve_findings: str = column("Findings in the piece's raw curve, separated by commas.", nullable=True)
    note: str = columns.note
    in_means: bool = column("Whether the piece counts in the means.")
    left_out_because: str = column(
        "Why the piece is left out of the means, separated by commas: its remark, unusable_curve, findings in its "
        "curve, its atmosphere verdict.",
        nullable=True,
    )
    atmosphere_verdict: str = shared.verdict()
    atmosphere_reason: str = shared.verdict_reason()
    width_mm: float = column("Width of the test piece.", unit="mm", nullable=True)
    span_mm: float = column("Free length between the clamps.", unit="mm", nullable=True)
    rate_mm_min: float = column("Rate of elongation.", unit="mm/min", nullable=True)
    max_force_n: float = column("Maximum force.", unit="N", nullable=True)
    elongation_mm: float = column("Elongation at maximum force.", unit="mm", nullable=True)
    energy_j: float = column("Work done on the test piece up to maximum force.", unit="J", nullable=True)
    max_slope_n_mm: float = column("Maximum slope of force against elongation.", unit="N/mm", nullable=True)
    break_position_mm: float = column(
        "Distance of the break from the nearer clamp.", unit="mm", nullable=True
    )
    grammage_basis: str = shared.grammage_basis
    grammage_g_m2: float = shared.grammage_g_m2
    grammage_conditioned_g_m2: float = shared.grammage_conditioned_g_m2
    grammage_oven_dry_g_m2: float = shared.grammage_oven_dry_g_m2
    grammage_as_received_g_m2: float = shared.grammage_as_received_g_m2
    thickness_kind: str = shared.thickness_kind
    thickness_um: float = column(
        "Mean thickness of the sheet, of the kind in thickness_kind.",
        unit="um",
        source="ISO 534",
        nullable=True,
    )
    thickness_pressure_kpa: float = column(
        "Pressure of the thickness readings, to the nearest kPa.", unit="kPa", nullable=True
    )
    apparent_density_kg_m3: float = shared.apparent_density_kg_m3
    file_hash: str = columns.file_hash
    line_number: Integer = columns.line_number
    record_key: str = columns.record_key

    class Config:
        name = "test_piece"
        strict = True
