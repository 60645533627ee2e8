"""Row accounting: every line of a file stands in exactly one account."""

from dataclasses import dataclass, fields


@dataclass
class LineAccount:
    """How many lines of a file stand where; ``stored`` rows are told apart later, when records are settled."""

    lines: int = 0
    preamble: int = 0
    header: int = 0
    units_row: int = 0
    blank: int = 0
    footer: int = 0
    continuation: int = 0
    held: int = 0
    stored: int = 0

    def accounted(self) -> int:
        """Return the sum of all accounts."""
        counts: list[int] = [getattr(self, field.name) for field in fields(self)]
        return sum(counts) - self.lines

    def check(self, file_name: str) -> None:
        """Raise AssertionError when a line is in no account or in two: a fault of ours, never of the file."""
        if self.lines != self.accounted():
            raise AssertionError(
                f"{file_name}: {self.lines} lines, but {self.accounted()} accounted for: {self}"
            )

    @classmethod
    def all_held(cls, lines: int) -> "LineAccount":
        """Return the account of a file that is held whole."""
        return cls(lines=lines, held=lines)
