"""Pressing: the passes of a sheet through the press."""

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class Pressing(Record):
    """One row per press pass of a sheet."""

    sheet_id: str = columns.sheet_id
    pass_no: Integer = column("Number of the pass, counted from 1.", unit="1", ge=1, le=50)
    speed_m_min: float = column("Speed through the nip.", unit="m/min", nullable=True, gt=0, le=500)
    line_load_kn_m: float = column("Line load in the nip.", unit="kN/m", nullable=True, ge=0, le=2000)
    pressure_kpa: float = column("Pressure of a plate press.", unit="kPa", nullable=True, ge=0, le=20000)
    force_setting: str = column("Force as set on a press without a calibrated load.", nullable=True)
    felts: str = column("Felts or blotters used.", nullable=True)
    pressed_at_utc: Timestamp = column("Time of the event, in UTC.", unit="UTC", nullable=True)

    class Config:
        name = "pressing"
        metadata = {"key": ("sheet_id", "pass_no"), "time": "pressed_at_utc"}  # noqa: RUF012
