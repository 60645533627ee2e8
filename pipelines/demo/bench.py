"""What faults are planted with: the regular exports to start from, and the files and faults made so far."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from pipelines.demo import exports
from pipelines.demo.exports import Export

Outcome = Literal[
    "left_out",
    "unmatched",
    "repeated",
    "superseded",
    "new_replicate",
    "footer",
    "held_rows",
    "held_file",
    "off_standard",
    "unverified",
    "curve_flag",
]


@dataclass(frozen=True)
class InboxFile:
    """A file to put into the inbox: its name, bytes and time of last change, in UTC."""

    name: str
    content: bytes
    changed_at: pd.Timestamp


@dataclass(frozen=True)
class PlantedFault:
    """A fault, where it stands, and what must become of it.

    ``lines`` are counted from 1; none of them means the file as a whole. ``rule`` is the broken rule where
    something is held, or what a curve is flagged with; ``suggested_sheet_id`` the sheet to suggest for an
    unmatched test; ``reason`` is part of the reason for a verdict on the atmosphere, or of what is said where a
    curve and its tester disagree.
    """

    name: str
    file_name: str
    lines: tuple[int, ...]
    what: str
    outcome: Outcome
    rule: str | None = None
    suggested_sheet_id: str | None = None
    reason: str | None = None


def inbox_file(export: Export) -> InboxFile:
    """Return a regular export as a file of the inbox."""
    return InboxFile(export.name, export.content, export.exported_at)


class Bench:
    """The regular exports to start from, and the faulty files and faults made so far."""

    def __init__(self, written: list[Export], zone: str) -> None:
        self.zone = zone
        self.written = written
        self.first: dict[str, Export] = {}
        self.count: dict[str, int] = {}
        for export in written:
            self.first.setdefault(export.profile.name, export)
            self.count[export.profile.name] = self.count.get(export.profile.name, 0) + 1
        self.files: list[InboxFile] = []
        self.faults: list[PlantedFault] = []

    def records(self, profile: str, count: int, sheet: int = 0) -> pd.DataFrame:
        """Return a copy of the first records of a sheet of a profile's first export, to be changed.

        Sheets are counted from 0 in the order of the export.
        """
        records = self.first[profile].records
        of_sheet = records["sheet_id"] == records["sheet_id"].unique()[sheet]
        return pd.DataFrame(records[of_sheet].iloc[:count])

    def export(self, profile: str, records: pd.DataFrame) -> Export:
        """Write records as one more file of a profile and put it into the inbox."""
        self.count[profile] += 1
        one_file = np.zeros(len(records), dtype=np.int64)
        (export,) = exports.write(
            self.first[profile].profile, records, one_file, self.zone, first_number=self.count[profile]
        )
        self.files.append(inbox_file(export))
        return export

    def plant(
        self,
        name: str,
        export: Export,
        what: str,
        outcome: Outcome,
        rule: str | None = None,
        reason: str | None = None,
    ) -> None:
        """Put a fault on record that stands on all rows of an export."""
        fault = PlantedFault(name, export.name, lines_of(export), what, outcome, rule, reason=reason)
        self.faults.append(fault)

    def copy(self, profile: str, lines: list[str], at: pd.Timestamp, line_end_missing: bool = False) -> str:
        """Put other lines of a profile's first export into the inbox as one more file; return its name."""
        self.count[profile] += 1
        original = self.first[profile]
        name = original.name.replace("_001", f"_{self.count[profile]:03d}")
        text = "\r\n".join(lines) + ("" if line_end_missing else "\r\n")
        self.files.append(InboxFile(name, text.encode(original.encoding), at))
        return name


def lines_of(export: Export) -> tuple[int, ...]:
    """Return the lines of an export's records, where each stands on one."""
    return tuple(range(export.first_line, export.first_line + len(export.records)))
