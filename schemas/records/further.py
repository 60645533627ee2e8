"""Further: one reading of any test that has no kind of record of its own."""

import pandas as pd
import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.names import REMARKS, SIDES
from schemas.records.record import Record


class Further(Record):
    """One row per reading of a property that the registry of properties declares with readings = "further".

    A tester gives the value, or the raw quantities that the property's entry computes it from.
    """

    tester: str = columns.tester
    sheet_id: str = columns.sheet_id
    property: str = column("Name of the property in the registry of properties.")
    direction: str = column(
        "Direction of the force, or of the tear line: MD along the drum's running direction, CD across it; missing for "
        "a property without directions.",
        isin=columns.DIRECTIONS,
        nullable=True,
    )
    side: str = column(
        "Side that was tested, for a property with sides: top, or wire, the side on the forming fabric.",
        isin=SIDES,
        nullable=True,
    )
    ply: str = column("Ply of a sheet that was taken apart.", nullable=True)
    treatment: str = column(
        "Treatment of the test piece before the test, such as wetting or ageing.", nullable=True
    )
    method: str = column("Method or setting of the tester, where it has several.", nullable=True)
    location: str = column("Place on the sheet that was tested.", nullable=True)
    specimen_no: Integer = column(
        "Number of the reading within sheet, property and direction, counted from 1.", unit="1", ge=1
    )
    replicate_no: Integer = columns.replicate_no
    value: float = column(
        "Value in the unit of the property: exported by the tester, else computed from the raw quantities.",
        nullable=True,
    )
    unit: str = column("Unit of the value (UCUM): that of the property.", nullable=True)
    force_n: float = column("Force.", unit="N", nullable=True, ge=0, le=100_000)
    energy_j: float = column("Energy.", unit="J", nullable=True, ge=0, le=1000)
    mass_gain_g: float = column("Mass of the water taken up.", unit="g", nullable=True, ge=0, le=1000)
    ash_mass_g: float = column("Mass of the ash.", unit="g", nullable=True, ge=0, le=1000)
    dry_mass_g: float = column("Oven-dry mass of the test piece.", unit="g", nullable=True, gt=0, le=1000)
    length_mm: float = column(
        "Tested length: span, bending length, or length between marks.",
        unit="mm",
        nullable=True,
        gt=0,
        le=2000,
    )
    width_mm: float = column("Width of the test piece.", unit="mm", nullable=True, gt=0, le=2000)
    extension_mm: float = column("Change of length.", unit="mm", nullable=True, ge=-500, le=500)
    area_mm2: float = column("Tested area.", unit="mm2", nullable=True, gt=0, le=4_000_000)
    volume_ml: float = column("Volume of air or water.", unit="mL", nullable=True, gt=0, le=100_000)
    flow_ml_min: float = column("Flow of air.", unit="mL/min", nullable=True, ge=0, le=1_000_000)
    test_time_s: float = column(
        "Duration that belongs to the method, such as that of the contact with water.",
        unit="s",
        nullable=True,
        gt=0,
    )
    angle_deg: float = column("Angle, such as that of bending.", unit="deg", nullable=True, ge=-180, le=180)
    pressure_kpa: float = column(
        "Pressure: of clamps, of a plate, or of air.", unit="kPa", nullable=True, gt=0, le=100_000
    )
    rate_mm_min: float = column("Rate of the test.", unit="mm/min", nullable=True, gt=0, le=100_000)
    plies: Integer = column("Number of sheets tested together.", unit="1", nullable=True, ge=1, le=100)
    remark: str = column("Remark on the test.", isin=REMARKS, nullable=True)
    tested_at_utc: Timestamp = columns.tested_at_utc
    operator: str = columns.operator
    note: str = columns.note

    class Config:
        name = "further"
        metadata = {  # noqa: RUF012
            "key": (
                "tester",
                "sheet_id",
                "property",
                "direction",
                "side",
                "ply",
                "treatment",
                "method",
                "pressure_kpa",
                "test_time_s",
                "location",
                "specimen_no",
                "replicate_no",
                "tested_at_utc",
            ),
            "time": "tested_at_utc",
            "atmosphere": "property IN ({properties_that_need_the_atmosphere})",
        }

    @pa.dataframe_check(error="give the value, or all raw quantities that the property is computed from")
    def value_is_determined(cls, frame: pd.DataFrame) -> pd.Series:  # noqa: N805
        """The value is stated, or followed from raw quantities before validation."""
        return frame["value"].notna()
