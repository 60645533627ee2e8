"""Unmatched test: records that wait for the forming log of their sheet."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, Timestamp, column


class UnmatchedTest(pa.DataFrameModel):
    """One row per test, pressing, drying or conditioning record whose sheet number is in no forming log."""

    kind: str = column(
        "Kind of record.",
        isin=(
            "basis_weight",
            "moisture",
            "thickness",
            "tensile",
            "further",
            "pressing",
            "drying",
            "conditioning",
        ),
    )
    sheet_id: str = columns.sheet_id
    tester: str = column(
        "This laboratory's name for the instrument; missing for pressing, drying and conditioning.",
        nullable=True,
    )
    tested_at_utc: Timestamp = columns.tested_at_utc
    file_hash: str = columns.file_hash
    line_number: Integer = columns.line_number
    record_key: str = columns.record_key
    suggested_sheet_id: str = column(
        "Known sheet numbers that are most similar, separated by commas; a suggestion only, never applied.",
        nullable=True,
    )
    suggestion_reason: str = column("How the two sheet numbers differ.", nullable=True)

    class Config:
        name = "unmatched_test"
        strict = True
