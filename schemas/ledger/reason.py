"""Reason: why a line, or a whole file, was held when it was read."""

import pandera.pandas as pa

from schemas import columns
from schemas.columns import Integer, column


class HeldReason(pa.DataFrameModel):
    """One row per reason that a line, or without a line number a whole file, is held."""

    file_hash: str = columns.file_hash
    line_number: Integer = column(
        "Line of the file, counted from 1; missing when the whole file is held.", unit="1", nullable=True
    )
    column_name: str = column("Column as the export names it.", nullable=True)
    cell: str = column("What stood in the cell.", nullable=True)
    rule: str = column("Rule that was broken, in one word.")
    what: str = column("What is wrong.")
    remedy: str = column("What to do.")
    original_text: str = column("The line as it stood.", nullable=True)
