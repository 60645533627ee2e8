"""From a table of text to a frame of typed values in the model's units, with a fault for every cell that is wrong."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.intake.parsing import (
    Mask,
    NumberFormat,
    codes,
    extracted,
    integers,
    number_format_of,
    numbers,
    times,
    trimmed,
)
from pipelines.intake.profile_matching import clean
from pipelines.intake.profile_text import ColumnSource, PreambleValue
from pipelines.intake.profiles import Profile, Target
from pipelines.intake.reading import TextTable, preamble_column
from pipelines.intake.units import conversion
from schemas.records import KINDS


@dataclass(frozen=True)
class FaultyCells:
    """Cells of one column that are wrong in one way: their rows in the table, their text, and why."""

    target: str
    column: str
    rows: npt.NDArray[np.int64]
    text: pd.Series
    rule: str
    what: str
    remedy: str


@dataclass
class TypedRows:
    """A frame with the columns of the kind's model, one row per data row, and the faults found on the way.

    A faulty cell is a missing value in the frame. ``shown_as`` tells the export's own name of each column;
    ``open_files`` maps the number of a file whose decimal mark cannot be told to the cell that shows it.
    """

    frame: pd.DataFrame
    faults: list[FaultyCells] = field(default_factory=list)
    shown_as: dict[str, str] = field(default_factory=dict)
    open_files: dict[int, str] = field(default_factory=dict)


def parse_types(table: TextTable, laboratory_zone: str) -> TypedRows:
    """Turn a table's text into typed values, column by column."""
    return _TypeParser(table, laboratory_zone).run()


class _TypeParser:
    def __init__(self, table: TextTable, laboratory_zone: str) -> None:
        self.table = table
        self.profile: Profile = table.profile
        self.zone = laboratory_zone
        self.missing = self.profile.text.dialect.missing
        self.out = TypedRows(pd.DataFrame(index=pd.RangeIndex(len(table.cells))))
        self.text: dict[str, pd.Series] = {}

    def run(self) -> TypedRows:
        sources = self.profile.sources
        for quantity, source in sources.items():
            self._gather(self.profile.targets[quantity], source)
        groups = self._marks(sources)
        values: dict[str, pd.Series] = {}
        for quantity, source in sources.items():
            target = self.profile.targets[quantity]
            if isinstance(source, ColumnSource) and source.count_within is not None:
                continue
            if isinstance(source, ColumnSource) and source.value is not None:
                values[target.column] = self._constant(target, source)
            else:
                values[target.column] = self._values(target, source, groups)
        for quantity, source in sources.items():
            if isinstance(source, ColumnSource) and source.count_within is not None:
                target = self.profile.targets[quantity]
                keys = [values[self.profile.targets[name].column] for name in source.count_within]
                by = pd.concat([pd.Series(self.table.file_number), *keys], axis=1, ignore_index=True)
                counted = by.groupby(list(by.columns), dropna=False).cumcount() + 1
                values[target.column] = counted.astype("Int64")
        self._assemble(values)
        return self.out

    def _gather(self, target: Target, source: ColumnSource | PreambleValue) -> None:
        """Put the text that a quantity is read from into ``self.text``, trimmed and with codes for «no value» empty."""
        if isinstance(source, PreambleValue):
            self.out.shown_as[target.column] = target.quantity
            self.text[target.column] = trimmed(
                self.table.cells[preamble_column(target.quantity)], self.missing
            )
            return
        if source.from_ is None:
            self.out.shown_as[target.column] = target.quantity
            return
        self.out.shown_as[target.column] = " + ".join(source.from_)
        parts = [trimmed(self.table.cells[clean(cell)], self.missing) for cell in source.from_]
        text = _joined(parts, source.join)
        if len(parts) > 1:
            empty = np.array([(part == "").to_numpy(dtype=bool) for part in parts]).sum(axis=0)
            text = text.mask(pd.Series(empty > 0), "")
            partly = (empty > 0) & (empty < len(parts))
            self._fault(target, partly, "partly_missing", "is not all of it", "Fill in the empty cell.")
        if source.pattern is not None:
            text, wrong = extracted(text, source.pattern)
            self._fault(
                target,
                wrong,
                "pattern",
                f"does not match {source.pattern!r}",
                "Correct the text, or the pattern in the profile.",
            )
        self.text[target.column] = text

    def _marks(self, sources: dict[str, ColumnSource | PreambleValue]) -> list[tuple[NumberFormat, Mask]]:
        """Return the marks numbers are written with, each with the rows of the files that use them."""
        dialect = self.profile.text.dialect
        everywhere = np.ones(len(self.table.cells), dtype=bool)
        if dialect.decimal is not None:
            return [(NumberFormat(dialect.decimal, dialect.thousands), everywhere)]
        numeric = [
            self.text[target.column]
            for quantity in sources
            if (target := self.profile.targets[quantity]).kind in ("number", "integer")
            and target.column in self.text
        ]
        groups: dict[NumberFormat, Mask] = {}
        for number in range(len(self.table.files)):
            rows = self.table.file_number == number
            found = (
                number_format_of(pd.concat([column[rows] for column in numeric]))
                if numeric
                else NumberFormat(".")
            )
            if isinstance(found, str):
                self.out.open_files[number] = found
                found = NumberFormat(".")
            groups[found] = groups.get(found, ~everywhere) | rows
        return list(groups.items())

    def _values(
        self, target: Target, source: ColumnSource | PreambleValue, groups: list[tuple[NumberFormat, Mask]]
    ) -> pd.Series:
        text = self.text[target.column]
        if target.kind == "text":
            return self._codes(target, source, text)
        if target.kind == "time":
            return self._times(target, source, text)
        if target.kind == "integer":
            whole = pd.Series(pd.NA, index=text.index, dtype="Int64")
            for marks, rows in groups:
                part, wrong, fraction = integers(text[rows], marks)
                whole[rows] = part
                self._fault(target, _spread(wrong, rows), "number", "is not a whole number", _MEND_NUMBER)
                self._fault(target, _spread(fraction, rows), "number", "is not a whole number", _MEND_NUMBER)
            return whole
        values = np.full(len(text), np.nan)
        for marks, rows in groups:
            values[rows], wrong = numbers(text[rows], marks)
            written = f"is not a number written with decimal mark {marks.decimal!r}" + (
                f" and thousands mark {marks.thousands!r}" if marks.thousands else ""
            )
            self._fault(target, _spread(wrong, rows), "number", written, _MEND_NUMBER)
        return pd.Series(conversion(source.unit or "1", target.unit or "1")(values))

    def _constant(self, target: Target, source: ColumnSource) -> pd.Series:
        rows = len(self.table.cells)
        if target.kind in ("number", "integer"):
            value = conversion(source.unit or "1", target.unit or "1")(
                np.full(rows, float(source.value or 0))
            )
            return pd.Series(value) if target.kind == "number" else pd.Series(value).astype("Int64")
        text = pd.Series([str(source.value)] * rows, dtype="str")
        return self._times(target, source, text) if target.kind == "time" else text

    def _codes(self, target: Target, source: ColumnSource | PreambleValue, text: pd.Series) -> pd.Series:
        if source.values is None:
            return text.where(text != "", None).astype("str")
        found, unknown = codes(text, source.values)
        known = ", ".join(repr(word) for words in source.values.values() for word in words)
        self._fault(
            target,
            unknown,
            "code",
            f"is not among the codes that the profile knows: {known}",
            f"Correct it, or add the code to columns.{target.quantity}.values in the profile {self.profile.name}.",
        )
        return found

    def _times(self, target: Target, source: ColumnSource | PreambleValue, text: pd.Series) -> pd.Series:
        zone = source.zone or self.zone
        found = times(text, source.format or "", zone)
        self._fault(
            target,
            found.wrong,
            "time",
            f"is not a time of the form {source.format!r}",
            f"Correct the date or the time, or columns.{target.quantity}.format in the profile.",
        )
        self._fault(
            target,
            found.nonexistent,
            "clock_change",
            f"does not exist in {zone}: the clock was put forward over it",
            "Set the tester's clock right, or let the export carry its offset (%z in the format).",
        )
        self._fault(
            target,
            found.ambiguous,
            "clock_change",
            f"occurred twice in {zone}: the clock was put back",
            "Let the export carry its offset (%z in the format), or state the hour in UTC.",
        )
        return found.utc

    def _fault(self, target: Target, wrong: Mask, rule: str, what: str, remedy: str) -> None:
        if not wrong.any():
            return
        rows, shown = np.flatnonzero(wrong), self.out.shown_as[target.column]
        self.out.faults.append(
            FaultyCells(target.column, shown, rows, self._raw(target).iloc[rows], rule, what, remedy)
        )

    def _raw(self, target: Target) -> pd.Series:
        """Return a quantity's text as it stood, before a pattern or codes were applied."""
        source = self.profile.sources[target.quantity]
        if isinstance(source, ColumnSource) and source.from_ is not None:
            return _joined([self.table.cells[clean(cell)] for cell in source.from_], source.join)
        if target.column in self.text:
            return self.text[target.column]
        constant = source.value if isinstance(source, ColumnSource) else None
        return pd.Series([str(constant or "")] * len(self.table.cells), dtype="str")

    def _assemble(self, values: dict[str, pd.Series]) -> None:
        """Put the columns into the model's order and types; what the profile does not give is missing."""
        frame, table = self.out.frame, self.table
        hashes = np.array([file.recognised.file.file_hash for file in table.files], dtype=object)
        for name, column in KINDS[self.profile.text.record].to_schema().columns.items():
            if name == "file_hash":
                frame[name] = pd.Series(hashes[table.file_number], dtype="str")
            elif name == "line_number":
                frame[name] = pd.Series(table.line_number, dtype="Int64")
            elif name == "tester":
                frame[name] = pd.Series([self.profile.text.tester] * len(frame), dtype="str")
            elif name in values:
                frame[name] = values[name]
            else:
                frame[name] = _nothing(str(column.dtype), len(frame))


def _joined(parts: list[pd.Series], by: str) -> pd.Series:
    text = parts[0]
    for part in parts[1:]:
        text = text + by + part
    return text


_MEND_NUMBER = "Correct the cell, or state the right decimal and thousands marks in the profile."


def _spread(mask: Mask, rows: Mask) -> Mask:
    """Return a mask over some rows as one over all rows."""
    out = np.zeros(len(rows), dtype=bool)
    out[rows] = mask
    return out


def _nothing(dtype: str, rows: int) -> pd.Series:
    if dtype == "float64":
        values: npt.NDArray[np.float64] = np.full(rows, np.nan)
        return pd.Series(values)
    if dtype == "Int64":
        return pd.Series([pd.NA] * rows, dtype="Int64")
    if dtype.startswith("datetime64"):
        return pd.Series([pd.NaT] * rows, dtype="datetime64[us]")
    return pd.Series([None] * rows, dtype="str")
