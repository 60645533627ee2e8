"""Reading: every value of every test, from which all means are taken."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column
from schemas.marts import shared
from schemas.names import GRAMMAGE_BASES, VERDICTS


class Reading(pa.DataFrameModel):
    """One row per value of a test of a known sheet.

    A tensile test piece has a row for each quantity measured on it. Values computed from means, such as indices, are
    in sheet_property.
    """

    property: str = column("Property that was measured.")
    value: float = column("Value in the unit of the property; thickness of a pack divided by its sheets.")
    unit: str = column("Unit of value as UCUM code.")
    sheet_id: str = columns.sheet_id
    trial: str = columns.trial
    trial_point: str = columns.trial_point
    direction: str = column(
        "MD or CD; missing for a test without a direction.", isin=columns.DIRECTIONS, nullable=True
    )
    basis: str = column(
        "Grammage basis: the state in which a piece was weighed; missing for other properties.",
        isin=GRAMMAGE_BASES,
        nullable=True,
    )
    side: str = shared.side
    ply: str = shared.ply
    treatment: str = shared.treatment
    method: str = shared.method
    pressure_kpa: float = shared.pressure_kpa
    test_time_s: float = shared.test_time_s
    length_mm: float = shared.length_mm
    rate_mm_min: float = shared.rate_mm_min
    specimen_no: Integer = column(
        "Number of the test piece, or position of a thickness reading, counted from 1.",
        unit="1",
        nullable=True,
    )
    replicate_no: Integer = columns.replicate_no
    tester: str = columns.tester
    tested_at_utc: Timestamp = columns.tested_at_utc
    atmosphere_verdict: str = column(
        "Atmosphere verdict of the test; missing where the test needs no test atmosphere, as an oven-dry weighing.",
        source="ISO 187; TAPPI T 402",
        isin=VERDICTS,
        nullable=True,
    )
    in_means: bool = column("Whether the value is in the means.")
    left_out_because: str = column(
        "Reasons why the value is not in the means, separated by commas: remarks on the test, findings in its "
        "raw curve, or an atmosphere verdict that the settings do not admit. Missing where it is in the means.",
        nullable=True,
    )
    instrument_uncertainty: float = column(
        "Standard uncertainty of the value from the stated accuracy of the tester, in the unit of the value; missing "
        "without an accuracy, and for tensile tests, whose mean has it.",
        source="GUM, JCGM 100:2008, 4.3.7 (from memory)",
        nullable=True,
    )
    kind: str = column("Kind of record that the value comes from.")
    file_hash: str = columns.file_hash
    line_number: Integer = columns.line_number
    record_key: str = columns.record_key

    class Config:
        name = "reading"
        strict = True
