"""Recipe: a stored set of machine settings."""

from schemas import columns
from schemas.columns import column
from schemas.records.record import Record


class Recipe(Record):
    """One row per version of a stored set of machine settings."""

    recipe: str = column("Name of the stored settings.", str_length={"min_value": 1, "max_value": 80})
    recipe_version: str = column("Version.", str_length={"min_value": 1, "max_value": 40})
    wire_speed_m_min: float = columns.wire_speed_m_min
    flow_rate_l_min: float = columns.flow_rate_l_min
    jet_to_wire_ratio: float = column(
        "Target jet-to-wire ratio of the settings.", unit="1", nullable=True, gt=0, le=10
    )
    stock_volume_l: float = columns.stock_volume_l
    nozzle_orifice_mm: float = columns.nozzle_orifice_mm
    dewatering_time_s: float = columns.dewatering_time_s
    compaction_speed_m_min: float = columns.compaction_speed_m_min
    target_grammage_g_m2: float = columns.target_grammage_g_m2

    class Config:
        name = "recipe"
        metadata = {"key": ("recipe", "recipe_version"), "time": None}  # noqa: RUF012
