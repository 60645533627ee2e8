"""Reason: why a line or a whole file is on hold since it was read."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, column


class HeldReason(pa.DataFrameModel):
    """One row per reason that a line is on hold, or a whole file: then without a line number."""

    file_hash: str = columns.file_hash
    line_number: Integer = column(
        "Line of the file, counted from 1; missing where the whole file is on hold.", unit="1", nullable=True
    )
    column_name: str = column(
        "Column as the export names it; the record's own column where the record contradicts another.",
        nullable=True,
    )
    cell: str = column("Text of the cell in the file.", nullable=True)
    rule: str = column("Rule that the line or the file breaks, in one word.")
    what: str = column("What is wrong.")
    remedy: str = column("What to do.")
    original_text: str = column("Original text of the line.", nullable=True)
