"""Write files with planted faults, starting from the regular exports."""

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
class DemoFile:
    """A file for the inbox: its name, bytes and modification time in UTC."""

    name: str
    content: bytes
    changed_at: pd.Timestamp


@dataclass(frozen=True)
class PlantedFault:
    """A fault, its file and lines, and the expected outcome.

    ``lines`` are counted from 1; an empty tuple means the whole file. ``rule`` is the broken rule of a file or line on
    hold, or the finding of a curve; ``suggested_sheet_id`` the suggestion for an unmatched test; ``reason`` a part of
    the reason for an atmosphere verdict, or of the message when a curve and its tester disagree.
    """

    name: str
    file_name: str
    lines: tuple[int, ...]
    what: str
    outcome: Outcome
    rule: str | None = None
    suggested_sheet_id: str | None = None
    reason: str | None = None


def demo_file(export: Export) -> DemoFile:
    """Return an export as a file for the inbox."""
    return DemoFile(export.name, export.content, export.exported_at)


class FaultWriter:
    """Writes faulty files from regular exports and records the planted faults."""

    def __init__(self, written: list[Export], zone: str) -> None:
        self.zone = zone
        self.written = written
        self.first: dict[str, Export] = {}
        self.count: dict[str, int] = {}
        for export in written:
            self.first.setdefault(export.profile.name, export)
            self.count[export.profile.name] = self.count.get(export.profile.name, 0) + 1
        self.files: list[DemoFile] = []
        self.faults: list[PlantedFault] = []

    def records(self, profile: str, count: int, sheet: int = 0) -> pd.DataFrame:
        """Return a copy of the first ``count`` records of a sheet in a profile's first export.

        Sheets are counted from 0 in the order of the export.
        """
        records = self.first[profile].records
        of_sheet = records["sheet_id"] == records["sheet_id"].unique()[sheet]
        return pd.DataFrame(records[of_sheet].iloc[:count])

    def export(self, profile: str, records: pd.DataFrame) -> Export:
        """Write records as another file of a profile, add it to the inbox and return it."""
        self.count[profile] += 1
        one_file = np.zeros(len(records), dtype=np.int64)
        (export,) = exports.write(
            self.first[profile].profile, records, one_file, self.zone, first_number=self.count[profile]
        )
        self.files.append(demo_file(export))
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
        """Record a fault that concerns all records of an export."""
        fault = PlantedFault(name, export.name, record_lines(export), what, outcome, rule, reason=reason)
        self.faults.append(fault)

    def copy(self, profile: str, lines: list[str], at: pd.Timestamp, line_end_missing: bool = False) -> str:
        """Add a file with these lines to the inbox, named and encoded as a profile's exports; return its name."""
        self.count[profile] += 1
        original = self.first[profile]
        name = original.name.replace("_001", f"_{self.count[profile]:03d}")
        text = "\r\n".join(lines) + ("" if line_end_missing else "\r\n")
        self.files.append(DemoFile(name, text.encode(original.encoding), at))
        return name


def record_lines(export: Export) -> tuple[int, ...]:
    """Return the line numbers of an export's records, if each record is one line."""
    return tuple(range(export.first_line, export.first_line + len(export.records)))
