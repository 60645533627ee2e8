"""Line accounting: every line of a file is counted in exactly one class."""

from dataclasses import dataclass, fields


@dataclass
class LineAccount:
    """How many lines of a file are in each class; ``lines`` is the total.

    ``stored`` lines become records; which of them are repeated or superseded is resolved later.
    """

    lines: int = 0
    preamble: int = 0
    header: int = 0
    units_row: int = 0
    blank: int = 0
    footer: int = 0
    continuation: int = 0
    held: int = 0
    stored: int = 0

    def __add__(self, other: "LineAccount") -> "LineAccount":
        """Return the account of both."""
        return LineAccount(*(getattr(self, item.name) + getattr(other, item.name) for item in fields(self)))

    def sum_of_classes(self) -> int:
        """Return the sum of all classes."""
        counts: list[int] = [getattr(self, field.name) for field in fields(self)]
        return sum(counts) - self.lines

    def check(self, file_name: str) -> None:
        """Raise AssertionError when a line is in no class or in two: a bug of Sheetlore, never of the file."""
        if self.lines != self.sum_of_classes():
            raise AssertionError(
                f"{file_name}: {self.lines} lines, but {self.sum_of_classes()} accounted for: {self}"
            )

    @classmethod
    def all_held(cls, lines: int) -> "LineAccount":
        """Return the account of a file that is on hold as a whole."""
        return cls(lines=lines, held=lines)
