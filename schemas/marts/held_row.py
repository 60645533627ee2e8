"""Held row: the lines and files on hold, with what to do about them."""

from schemas.columns import Flag
from schemas.ledger import shared
from schemas.ledger.reason import HeldReason


class HeldRow(HeldReason):
    """One row per reason that a line is on hold, or a whole file: then without a line number."""

    file_name: str = shared.file_name
    profile: str = shared.profile
    in_inbox: Flag = shared.in_inbox

    class Config:
        name = "held_row"
        strict = True
