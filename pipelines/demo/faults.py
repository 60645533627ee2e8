"""Faults planted among the demo laboratory's exports, each at a known place and with a known outcome.

They are what goes wrong in every laboratory: a slipped key, an export cut off while it was copied, a unit
switched at the tester. Each stands in a file of its own beside the regular exports, so that the truth of the
trial points can still be found again.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from pipelines.demo import exports
from pipelines.demo.exports import Export

Outcome = Literal[
    "left_out", "unmatched", "repeated", "superseded", "new_replicate", "footer", "held_rows", "held_file"
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
    something is held; ``suggested_sheet_id`` the sheet to suggest for an unmatched test.
    """

    name: str
    file_name: str
    lines: tuple[int, ...]
    what: str
    outcome: Outcome
    rule: str | None = None
    suggested_sheet_id: str | None = None


def inbox_file(export: Export) -> InboxFile:
    """Return a regular export as a file of the inbox."""
    return InboxFile(export.name, export.content, export.exported_at)


def plant(
    written: list[Export], formed: pd.DataFrame, zone: str
) -> tuple[list[InboxFile], list[PlantedFault]]:
    """Return the files that carry the faults, and the faults.

    ``written`` are the regular exports, ``formed`` the forming records, ``zone`` the laboratory's time zone.
    """
    bench = _Bench(written, zone)
    _clamp_breaks(bench)
    _mistyped_sheet_id(bench)
    _overlapping_export(bench)
    _corrected_re_export(bench)
    _retest(bench)
    _contradicting_units_row(bench)
    _truncated_copy(bench)
    _summary_lines(bench)
    _negative_thickness(bench)
    _dated_before_forming(bench, formed)
    _contradiction_within_a_file(bench)
    _no_exports(bench)
    return bench.files, bench.faults


class _Bench:
    """The regular exports to start from, and the faulty files and faults made so far."""

    def __init__(self, written: list[Export], zone: str) -> None:
        self.zone = zone
        self.first: dict[str, Export] = {}
        self.count: dict[str, int] = {}
        for export in written:
            self.first.setdefault(export.profile.name, export)
            self.count[export.profile.name] = self.count.get(export.profile.name, 0) + 1
        self.files: list[InboxFile] = []
        self.faults: list[PlantedFault] = []

    def records(self, profile: str, count: int) -> pd.DataFrame:
        """Return a copy of the first records of a profile's first export, to be changed."""
        return self.first[profile].records.iloc[:count].copy()

    def export(self, profile: str, records: pd.DataFrame) -> Export:
        """Write records as one more file of a profile and put it into the inbox."""
        self.count[profile] += 1
        one_file = np.zeros(len(records), dtype=np.int64)
        (export,) = exports.write(
            self.first[profile].profile, records, one_file, self.zone, first_number=self.count[profile]
        )
        self.files.append(inbox_file(export))
        return export

    def copy(self, profile: str, lines: list[str], at: pd.Timestamp, line_end_missing: bool = False) -> str:
        """Put other lines of a profile's first export into the inbox as one more file; return its name."""
        self.count[profile] += 1
        original = self.first[profile]
        name = original.name.replace("_001", f"_{self.count[profile]:03d}")
        text = "\r\n".join(lines) + ("" if line_end_missing else "\r\n")
        self.files.append(InboxFile(name, text.encode(original.encoding), at))
        return name


def _lines(export: Export) -> tuple[int, ...]:
    return tuple(range(export.first_line, export.first_line + len(export.records)))


def _clamp_breaks(bench: _Bench) -> None:
    records = bench.records("tensile-si", 3)
    records["specimen_no"] += 10
    records["max_force_n"] *= 0.70
    records["elongation_mm"] *= 0.55
    records["energy_j"] *= 0.70 * 0.55
    records["break_position_mm"] = 1.5
    records["remark"] = "clamp_break"
    records["tested_at_utc"] += pd.Timedelta(minutes=60)
    export = bench.export("tensile-si", records)
    what = "Three strips broke at the clamp, at forces too low, and are remarked so."
    bench.faults.append(PlantedFault("clamp breaks", export.name, _lines(export), what, "left_out"))


def _mistyped_sheet_id(bench: _Bench) -> None:
    records = bench.records("thickness-si", 5)
    right = str(records["sheet_id"].iloc[0])
    records["position_no"] += 20
    records["sheet_id"] = right.replace("0", "O", 1)
    records["tested_at_utc"] += pd.Timedelta(minutes=90)
    export = bench.export("thickness-si", records)
    what = f"The sheet's number was typed with the letter O for a zero; {right} is meant."
    bench.faults.append(
        PlantedFault(
            "mistyped sheet id", export.name, _lines(export), what, "unmatched", suggested_sheet_id=right
        )
    )


def _overlapping_export(bench: _Bench) -> None:
    original = bench.first["basis-weight-si"]
    head, rows = original.lines[: original.first_line - 1], len(original.records)
    half = original.lines[original.first_line - 1 :][rows // 2 : rows]
    at = original.exported_at + pd.Timedelta(hours=2)
    name = bench.copy("basis-weight-si", [*head, *half], at)
    lines = tuple(range(original.first_line, original.first_line + len(half)))
    what = "Half of an earlier export was exported again."
    bench.faults.append(PlantedFault("overlapping export", name, lines, what, "repeated"))


def _corrected_re_export(bench: _Bench) -> None:
    records = bench.records("moisture", 1)
    records["mass_after_g"] -= 0.1
    export = bench.export("moisture", records)
    what = f"A misread mass, exported before the file {bench.first['moisture'].name}, which corrects it."
    bench.faults.append(PlantedFault("corrected re-export", export.name, _lines(export), what, "superseded"))


def _retest(bench: _Bench) -> None:
    records = bench.records("tensile-us", 1)
    records["max_force_n"] *= 1.01
    records["tested_at_utc"] += pd.Timedelta(hours=2)
    export = bench.export("tensile-us", records)
    what = "A piece's place was tested again two hours later: a new replicate, not a correction."
    bench.faults.append(PlantedFault("retest", export.name, _lines(export), what, "new_replicate"))


def _contradicting_units_row(bench: _Bench) -> None:
    original = bench.first["tensile-si"]
    lines = list(original.lines)
    units_row = original.first_line - 2
    lines[units_row] = lines[units_row].replace(";N;", ";kN;")
    name = bench.copy("tensile-si", lines, original.exported_at + pd.Timedelta(hours=3))
    what = "The units row says kN where the profile says N."
    bench.faults.append(
        PlantedFault("contradicting units row", name, (), what, "held_file", rule="units_row")
    )


def _truncated_copy(bench: _Bench) -> None:
    original = bench.first["thickness-us"]
    last = original.first_line + 7
    lines = list(original.lines[:last])
    lines[-1] = lines[-1][: len(lines[-1]) // 2]
    at = original.exported_at - pd.Timedelta(minutes=2)
    name = bench.copy("thickness-us", lines, at, line_end_missing=True)
    what = "The file was copied while it was written and breaks off within a line."
    bench.faults.append(PlantedFault("truncated copy", name, (last,), what, "held_rows", rule="truncated"))


def _summary_lines(bench: _Bench) -> None:
    original = bench.first["tensile-si"]
    lines = range(original.first_line + len(original.records), len(original.lines) + 1)
    what = "Means and standard deviations stand below the tests."
    bench.faults.append(PlantedFault("summary lines", original.name, tuple(lines), what, "footer"))


def _negative_thickness(bench: _Bench) -> None:
    records = bench.records("thickness-us", 1)
    records["position_no"] += 20
    records["thickness_um"] *= -1
    export = bench.export("thickness-us", records)
    what = "A thickness below zero."
    bench.faults.append(
        PlantedFault("negative thickness", export.name, _lines(export), what, "held_rows", rule="range")
    )


def _dated_before_forming(bench: _Bench, formed: pd.DataFrame) -> None:
    records = bench.records("basis-weight-us", 1)
    sheet = formed[formed["sheet_id"] == records["sheet_id"].iloc[0]]
    records["specimen_no"] += 20
    records["tested_at_utc"] = sheet["formed_at_utc"].iloc[0] - pd.Timedelta(days=3)
    export = bench.export("basis-weight-us", records)
    what = "Weighed three days before the sheet was formed."
    bench.faults.append(
        PlantedFault(
            "dated before forming",
            export.name,
            _lines(export),
            what,
            "held_rows",
            rule="dated_before_forming",
        )
    )


def _contradiction_within_a_file(bench: _Bench) -> None:
    records = bench.records("thickness-si", 1)
    records["position_no"] += 30
    other = records.assign(thickness_um=records["thickness_um"] + 7)
    export = bench.export("thickness-si", pd.concat([records, other]))
    what = "One reading stands twice in a file, with two values."
    bench.faults.append(
        PlantedFault(
            "contradiction within a file",
            export.name,
            _lines(export),
            what,
            "held_rows",
            rule="contradiction",
        )
    )


def _no_exports(bench: _Bench) -> None:
    """Put files into the inbox that are no exports at all."""
    at = min(export.exported_at for export in bench.first.values())
    notes = b"Item;Ordered;Arrived\r\nblotters;200;150\r\nnozzle 1,2 mm;2;2\r\n"
    for name, file_name, content, what, rule in (
        ("unknown file", "orders.csv", notes, "A list that no profile knows.", "no_profile"),
        ("empty file", "tensile-us_empty.csv", b"", "An export without a single byte.", "empty_file"),
        ("binary rubbish", "image.csv", bytes(range(32)) * 20 + b"\0", "Bytes that are no text.", "binary"),
    ):
        bench.files.append(InboxFile(file_name, content, at))
        bench.faults.append(PlantedFault(name, file_name, (), what, "held_file", rule=rule))
