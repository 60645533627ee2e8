"""Furnish: what a batch of stock was made of."""

from schemas.columns import Timestamp, column
from schemas.records.record import Record


class Furnish(Record):
    """One row per component of a furnish batch."""

    furnish: str = column("Name of the furnish batch.", str_length={"min_value": 1, "max_value": 80})
    component: str = column("Pulp or additive.", str_length={"min_value": 1, "max_value": 120})
    share_pct: float = column(
        "Share of the batch's dry fibre; missing for an additive.", unit="%", nullable=True, ge=0, le=100
    )
    refining_energy_kwh_t: float = column("Net refining energy.", unit="kW.h/t", nullable=True, ge=0, le=5000)
    schopper_riegler_sr: float = column(
        "Drainability, Schopper-Riegler.",
        unit="{SR}",
        source="ISO 5267-1 (from memory)",
        nullable=True,
        ge=1,
        le=100,
    )
    canadian_freeness_ml: float = column(
        "Drainability, Canadian standard freeness.",
        unit="mL",
        source="ISO 5267-2 (from memory)",
        nullable=True,
        ge=0,
        le=1000,
    )
    dose_kg_t: float = column("Additive per tonne of dry fibre.", unit="kg/t", nullable=True, ge=0, le=1000)
    prepared_at_utc: Timestamp = column("When the batch was prepared, in UTC.", unit="UTC", nullable=True)

    class Config:
        name = "furnish"
        metadata = {"key": ("furnish", "component"), "time": "prepared_at_utc"}  # noqa: RUF012
