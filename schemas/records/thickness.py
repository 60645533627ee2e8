"""Thickness: readings of the micrometer."""

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.records.record import Record


class Thickness(Record):
    """One row per thickness reading."""

    tester: str = columns.tester
    sheet_id: str = columns.sheet_id
    position_no: Integer = column("Position on the sheet or the pack, counted from 1.", unit="1", ge=1)
    replicate_no: Integer = columns.replicate_no
    thickness_um: float = column(
        "Thickness between the plates: of one sheet, or of the whole pack.",
        unit="um",
        source="ISO 534",
        gt=0,
        le=50_000,
    )
    sheets_in_pack: Integer = column(
        "Sheets measured together; 1 for a single sheet.", unit="1", ge=1, le=100
    )
    pressure_kpa: float = column(
        "Pressure between the plates: 100 kPa in ISO 534, 50 kPa in TAPPI T 411.",
        unit="kPa",
        source="ISO 534; TAPPI T 411",
        nullable=True,
        gt=0,
        le=1000,
    )
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator
    note: str = columns.note

    class Config:
        name = "thickness"
        metadata = {  # noqa: RUF012
            "key": (
                "tester",
                "sheet_id",
                "position_no",
                "sheets_in_pack",
                "pressure_kpa",
                "replicate_no",
                "tested_at_utc",
            ),
            "time": "tested_at_utc",
            "atmosphere": "TRUE",
        }
