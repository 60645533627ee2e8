"""Why a file or a row is held: the one form in which every step of the intake says so."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Reason:
    """One reason that a line, or with no line number a whole file, is held."""

    rule: str
    what: str
    remedy: str
    line_number: int | None = None
    column: str | None = None
    value: str | None = None
    original_text: str | None = None


class FileRejected(Exception):  # noqa: N818 - it is an outcome, not an error
    """A file cannot be taken in at all."""

    def __init__(self, rule: str, what: str, remedy: str) -> None:
        super().__init__(what)
        self.reason = Reason(rule, what, remedy)
