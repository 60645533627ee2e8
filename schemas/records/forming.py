"""Forming: what the former was set to and did, layer by layer."""

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class Forming(Record):
    """One row per layer of a sheet, from the forming log."""

    sheet_id: str = columns.sheet_id
    trial: str = columns.trial
    trial_point: str = columns.trial_point
    layer_no: Integer = column("Number of the layer, counted from the forming fabric.", unit="1", ge=1, le=50)
    formed_at_utc: Timestamp = column(
        "Time at which the layer was formed, in UTC.", unit="UTC", nullable=True
    )
    tank: str = columns.tank
    furnish: str = columns.furnish
    consistency_pct: float = columns.consistency_pct
    stock_volume_l: float = columns.stock_volume_l
    flow_rate_l_min: float = columns.flow_rate_l_min
    wire_speed_m_min: float = columns.wire_speed_m_min
    jet_speed_m_min: float = column(
        "Jet speed from the log; where it is missing, flow rate and nozzle give it.",
        unit="m/min",
        nullable=True,
        gt=0,
        le=8000,
    )
    nozzle_orifice_mm: float = columns.nozzle_orifice_mm
    nozzle_count: Integer = column(
        "Number of nozzles that spray at the same time.", unit="1", nullable=True, ge=1, le=50
    )
    contraction_coefficient: float = column(
        "Area of the jet over the area of the orifice.", unit="1", nullable=True, gt=0.3, le=1
    )
    spray_angle_deg: float = column(
        "Angle between the jet and the running direction of the wire.",
        unit="deg",
        nullable=True,
        ge=0,
        lt=90,
    )
    sweeps: Integer = column(
        "Number of passes of the nozzle along the drum.", unit="1", nullable=True, ge=1, le=10000
    )
    water_wall_l: float = column(
        "Water laid on the fabric before the stock.", unit="L", nullable=True, ge=0, le=500
    )
    dewatering_time_s: float = columns.dewatering_time_s
    compaction_speed_m_min: float = columns.compaction_speed_m_min
    fabric: str = column("Forming fabric.", nullable=True)
    recipe: str = columns.recipe
    recipe_version: str = column("Version of the stored settings that was used.", nullable=True)
    target_grammage_g_m2: float = columns.target_grammage_g_m2
    operator: str = columns.operator
    note: str = columns.note

    class Config:
        name = "forming"
        metadata = {"key": ("sheet_id", "layer_no"), "time": "formed_at_utc"}  # noqa: RUF012
