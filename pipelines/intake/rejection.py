"""Why a file or a line is on hold: the one form in which every step of the intake reports it."""

from dataclasses import dataclass

RE_EXPORT = "re-export under the same name; the next run imports it."
"""How most remedies end: a file under the same name replaces the faulty one."""


@dataclass(frozen=True)
class Rejection:
    """One reason why a line, or without a line number a whole file, is on hold.

    ``rule`` is a code to group by, ``what`` says what is wrong and ``remedy`` what to do.
    """

    rule: str
    what: str
    remedy: str
    line_number: int | None = None
    column: str | None = None
    cell: str | None = None
    original_text: str | None = None


class FileRejected(Exception):  # noqa: N818 - an outcome, not an error
    """The file as a whole cannot be imported."""

    def __init__(self, rule: str, what: str, remedy: str) -> None:
        super().__init__(what)
        self.rejection = Rejection(rule, what, remedy)
