"""Held row: what was not taken in, and what to do about it."""

from schemas.columns import Flag
from schemas.ledger import shared
from schemas.ledger.reason import HeldReason


class HeldRow(HeldReason):
    """One row per reason that a line, or without a line number a whole file, is held."""

    file_name: str = shared.file_name
    profile: str = shared.profile
    in_inbox: Flag = shared.in_inbox

    class Config:
        name = "held_row"
        strict = True
