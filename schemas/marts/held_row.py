"""Held row: what was not taken in, and what to do about it."""

from schemas.columns import column
from schemas.ledger.reason import HeldReason


class HeldRow(HeldReason):
    """One row per reason that a line, or without a line number a whole file, is held."""

    file_name: str = column("Name of the file in the inbox when it was first seen.")
    profile: str = column("Export profile that the file matched.", nullable=True)

    class Config:
        name = "held_row"
        strict = True
