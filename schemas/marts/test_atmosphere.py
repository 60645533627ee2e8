"""Test atmosphere: the atmosphere verdict of each test, with its reason."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Flag, Integer, Timestamp, column
from schemas.marts import shared

REASONS = {
    "no_test_time": "the test has no time",
    "no_time_of_day": "the test has a date without a time of day",
    "no_conditioning": "no conditioning is recorded before the test",
    "taken_out": "the sheet left the room before the test",
    "several_rooms": "the sheet is recorded in several rooms at once",
    "wet_side": "the sheet was conditioned from the wet side",
    "stay_too_short": "the sheet was conditioned for less than the required hours",
    "temperature_out": "a temperature reading is outside its limits",
    "humidity_out": "a humidity reading is outside its limits",
    "no_climate_record": "the room has no reading up to the test",
    "climate_gap": "two readings are further apart than allowed",
    "no_preconditioning": "the side the sheet came from is not recorded",
    "mass_not_constant": "the mass still changed, which changes no verdict",
}
"""Code of a reason -> what it says, in the order in which the reasons of a test are given."""


class TestAtmosphere(pa.DataFrameModel):
    """One row per conditioned weighing, oven-dry pair, thickness reading and tensile test of a known sheet.

    Weighings oven dry or as received need no atmosphere and have no row.
    """

    kind: str = column(
        "Kind of record.", isin=("basis_weight", "moisture", "thickness", "tensile", "further")
    )
    sheet_id: str = columns.sheet_id
    trial: str = columns.trial
    trial_point: str = columns.trial_point
    tested_at_utc: Timestamp = columns.tested_at_utc
    room: str = column("Room in which the sheet was at the time of the test.", nullable=True)
    in_at_utc: Timestamp = column(
        "Time at which the sheet was brought into the room, in UTC.", unit="UTC", nullable=True
    )
    stayed_h: float = column("Conditioning time in the room up to the test.", unit="h", nullable=True)
    required_stay_h: float = column(
        "Conditioning time required for the sheet's grammage: the mean of its weighed pieces, else the target"
        " grammage. Without a grammage, the longest time in the settings.",
        unit="h",
        source="ISO 187 (from memory)",
    )
    verdict: str = shared.verdict()
    reason_code: str = column(
        "Code of the first reason, to group by: "
        + "; ".join(f"{code}: {text}" for code, text in REASONS.items())
        + ". Missing where there is no reason.",
        isin=tuple(REASONS),
        nullable=True,
    )
    reason: str = shared.verdict_reason()
    admitted: bool = column("Whether the settings let tests with this verdict count in the means.")
    temperature_c: float = column(
        "Temperature of the last reading before the test, or the mean of the averaging time up to it.",
        unit="Cel",
        nullable=True,
    )
    relative_humidity_pct: float = column(
        "Relative humidity of the last reading before the test, or the mean of the averaging time up to it.",
        unit="%",
        nullable=True,
    )
    since_reading_min: float = column(
        "Time from the last climate reading to the test.", unit="min", nullable=True
    )
    mass_constant: Flag = column(
        "Whether the sheet's pieces kept their mass within the limit between the last two weighings before "
        "the test; missing where no piece was weighed twice. It does not change the verdict.",
        source="ISO 187 (from memory)",
        nullable=True,
    )
    mass_change_pct: float = column(
        "Largest change of mass between the last two weighings of a piece before the test.",
        unit="%",
        nullable=True,
    )
    file_hash: str = columns.file_hash
    line_number: Integer = columns.line_number
    record_key: str = columns.record_key

    class Config:
        name = "test_atmosphere"
        strict = True
