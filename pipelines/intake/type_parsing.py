"""Turn a table of text into a frame of typed values in the model's units, with an error for every invalid cell."""

from dataclasses import dataclass, field
from datetime import datetime
from string import Formatter

import numpy as np
import numpy.typing as npt
import pandas as pd

from pipelines.intake.parsing import (
    EPOCHS,
    Mask,
    NumberFormat,
    detect_number_format,
    extract,
    map_codes,
    negate_parentheses,
    parse_integers,
    parse_numbers,
    parse_times,
    split_units,
    strip_cells,
    to_english_months,
)
from pipelines.intake.profile_text import ColumnSource, Part, PreambleValue, fields_of
from pipelines.intake.profiles import EXPORTED_AT, Profile, TargetColumn
from pipelines.intake.reading import TextTable, preamble_column
from pipelines.intake.rejection import RE_EXPORT
from pipelines.intake.units import Conversion, conversion, is_unit, same_unit
from schemas.records import KINDS

_EXAMPLE_TIME = datetime(2026, 12, 31, 23, 59, 58)  # noqa: DTZ001 - shown without a zone, as exports write it


@dataclass(frozen=True)
class ParseErrors:
    """Cells of one column with the same error: their rows in the table, their text, and what is wrong."""

    target: str
    column: str
    rows: npt.NDArray[np.int64]
    text: pd.Series
    rule: str
    what: str
    remedy: str


@dataclass
class TypedRows:
    """A frame with the columns of the record's model, one row per data row, and the errors of its cells.

    An invalid cell is a missing value in the frame. ``export_names`` and ``original_cells`` give, for each column
    that the profile fills, its name in the export and the text of its cells. ``ambiguous_files`` maps the number
    of a file with an unknown decimal mark to a cell that shows it. ``exported_at_utc`` is when each row was exported,
    where the profile reads it.
    """

    frame: pd.DataFrame
    errors: list[ParseErrors] = field(default_factory=list)
    export_names: dict[str, str] = field(default_factory=dict)
    original_cells: dict[str, pd.Series] = field(default_factory=dict)
    ambiguous_files: dict[int, str] = field(default_factory=dict)
    exported_at_utc: pd.Series | None = None


def parse_types(table: TextTable, laboratory_zone: str) -> TypedRows:
    """Return a table's text as typed values, column by column."""
    return _TypeParser(table, laboratory_zone).run()


class _TypeParser:
    def __init__(self, table: TextTable, laboratory_zone: str) -> None:
        self.table = table
        self.profile: Profile = table.profile
        self.zone = laboratory_zone
        self.missing = self.profile.text.dialect.missing
        self.out = TypedRows(pd.DataFrame(index=pd.RangeIndex(len(table.cells))))
        self.text: dict[str, pd.Series] = {}
        self.wide_quantities = self.profile.text.wide.sources().keys() if self.profile.text.wide else ()

    def run(self) -> TypedRows:
        sources = self.profile.sources
        for quantity, source in sources.items():
            target = self.profile.targets[quantity]
            self._collect_text(target, source)
            if target.kind in ("number", "integer") and target.column in self.text:
                self.text[target.column] = self._plain_numbers(target, source, self.text[target.column])
        formats = self._number_formats(sources)
        values: dict[str, pd.Series] = {}
        for quantity, source in sources.items():
            target = self.profile.targets[quantity]
            if isinstance(source, ColumnSource) and source.count_within is not None:
                continue
            if isinstance(source, ColumnSource) and source.value is not None:
                values[target.column] = self._constant(target, source)
            else:
                values[target.column] = self._values(target, source, formats)
        for quantity, source in sources.items():
            if isinstance(source, ColumnSource) and source.count_within is not None:
                target = self.profile.targets[quantity]
                keys = [values[self.profile.targets[name].column] for name in source.count_within]
                by = pd.concat([pd.Series(self.table.file_number), *keys], axis=1, ignore_index=True)
                counted = by.groupby(list(by.columns), dropna=False).cumcount() + 1
                values[target.column] = counted.astype("Int64")
        self.out.exported_at_utc = values.get(EXPORTED_AT.column)
        self._build_frame(values)
        return self.out

    def _collect_text(self, target: TargetColumn, source: ColumnSource | PreambleValue) -> None:
        """Store the text of a quantity, stripped, and empty where the text means «no value»."""
        column = target.column
        self.out.export_names[column] = target.quantity
        if isinstance(source, PreambleValue):
            self.out.original_cells[column] = self.table.cells[preamble_column(target.quantity)]
            self.text[column] = strip_cells(self.out.original_cells[column], self.missing)
            return
        if source.template is not None:
            self._fill_template(target, source.template)
            return
        if source.from_ is None:
            constant = "" if source.value is None else str(source.value)
            self.out.original_cells[column] = pd.Series([constant] * len(self.table.cells), dtype="str")
            return
        if target.quantity not in self.wide_quantities:
            self.out.export_names[column] = " + ".join(source.cells())
        self.text[column] = self._cells_text(target, source)

    def _cells_text(self, target: TargetColumn, source: ColumnSource | Part) -> pd.Series:
        """Return the text of a row's cells, joined, and of it the part that matches the source's pattern."""
        cells = [self.table.cells[name] for name in source.cells()]
        of_part = isinstance(source, Part)
        self.out.original_cells[target.column] = _concatenate(cells, source.join)
        text = self._joined(target, [strip_cells(part, self.missing) for part in cells], source.join)
        if source.pattern is not None:
            text, invalid = extract(text, source.pattern)
            key = "parts" if of_part else self._key(target)
            self._add_errors(
                target,
                invalid,
                "pattern",
                f"does not match the profile's pattern {source.pattern!r}",
                f"Correct the cell and {RE_EXPORT} Or correct {key}.pattern in the profile.",
            )
        return text

    def _joined(self, target: TargetColumn, parts: list[pd.Series], separator: str) -> pd.Series:
        """Return texts joined; empty, with an error, where only some of them are empty."""
        text = _concatenate(parts, separator)
        if len(parts) > 1:
            empty = np.array([(part == "").to_numpy(dtype=bool) for part in parts]).sum(axis=0)
            text = text.mask(pd.Series(empty > 0), "")
            self._add_errors(
                target,
                (empty > 0) & (empty < len(parts)),
                "partly_missing",
                "is incomplete: one of its cells is empty",
                f"Fill in the empty cell and {RE_EXPORT}",
            )
        return text

    def _fill_template(self, target: TargetColumn, template: str) -> None:
        """Store the text of a quantity that a template composes from parts."""
        column, parts = target.column, self.profile.text.parts
        names = fields_of(template)
        cells = [name for part in names for name in parts[part].cells() or (part,)]
        self.out.export_names[column] = " + ".join(cells)
        self.out.original_cells[column] = pd.Series([""] * len(self.table.cells), dtype="str")
        texts = {}
        for part in names:
            if parts[part].from_ is None:
                texts[part] = strip_cells(self.table.cells[preamble_column(f"parts.{part}")], self.missing)
            else:
                texts[part] = self._cells_text(target, parts[part])
        literals = [literal for literal, _, _, _ in Formatter().parse(template)]
        text = pd.Series([literals[0]] * len(self.table.cells), dtype="str")
        for position, part in enumerate(names):
            text = text + texts[part] + (literals[position + 1] if position + 1 < len(literals) else "")
        self.out.original_cells[column] = text
        complete = self._joined(target, list(texts.values()), "")
        self.text[column] = text.mask(complete == "", "")

    def _key(self, target: TargetColumn) -> str:
        """Return the key of a quantity in the profile."""
        if target.quantity in self.wide_quantities:
            return "wide"
        table = "preamble.values" if target.quantity in self.profile.text.preamble.values else "columns"
        return f"{table}.{target.quantity}"

    def _number_formats(
        self, sources: dict[str, ColumnSource | PreambleValue]
    ) -> list[tuple[NumberFormat, Mask]]:
        """Return the number formats in use, each with a mask of the rows whose files use it."""
        dialect = self.profile.text.dialect
        all_rows = np.ones(len(self.table.cells), dtype=bool)
        if dialect.decimal is not None:
            return [(NumberFormat(dialect.decimal, dialect.thousands), all_rows)]
        numeric = [
            self.text[target.column]
            for quantity in sources
            if (target := self.profile.targets[quantity]).kind in ("number", "integer")
            and target.column in self.text
        ]
        groups: dict[NumberFormat, Mask] = {}
        for number in range(len(self.table.files)):
            rows = self.table.file_number == number
            detected = numeric and not self.table.files[number].match.file.is_workbook
            found = (
                detect_number_format(pd.concat([column[rows] for column in numeric]))
                if detected
                else NumberFormat(".")
            )
            if isinstance(found, str):
                self.out.ambiguous_files[number] = found
                found = NumberFormat(".")
            groups[found] = groups.get(found, ~all_rows) | rows
        return list(groups.items())

    def _values(
        self,
        target: TargetColumn,
        source: ColumnSource | PreambleValue,
        formats: list[tuple[NumberFormat, Mask]],
    ) -> pd.Series:
        text = self.text[target.column]
        if target.kind == "text":
            return self._codes(target, source, text)
        if target.kind == "time":
            return self._times(target, source, text)
        if target.kind == "integer":
            integers = pd.Series(pd.NA, index=text.index, dtype="Int64")
            for number_format, rows in formats:
                integers[rows], invalid, fraction = parse_integers(text[rows], number_format)
                for mask in (invalid, fraction):
                    self._add_errors(
                        target, _expand(mask, rows), "number", "is not a whole number", _CORRECT_NUMBER
                    )
            return integers
        values = np.full(len(text), np.nan)
        for number_format, rows in formats:
            values[rows], invalid = parse_numbers(text[rows], number_format)
            what = f"is not a number with the decimal mark {number_format.decimal!r}" + (
                f" and the thousands mark {number_format.thousands!r}" if number_format.thousands else ""
            )
            self._add_errors(target, _expand(invalid, rows), "number", what, _CORRECT_NUMBER)
        return pd.Series(self._conversion(source, target)(values))

    def _conversion(self, source: ColumnSource | PreambleValue, target: TargetColumn) -> Conversion:
        """Return the conversion to the unit of the column; a column without one keeps the unit of the export."""
        return Conversion(1.0) if target.unit is None else conversion(self._unit(source), target.unit)

    def _unit(self, source: ColumnSource | PreambleValue) -> str:
        return self.profile.unit(source.unit or "1")

    def _plain_numbers(
        self, target: TargetColumn, source: ColumnSource | PreambleValue, text: pd.Series
    ) -> pd.Series:
        """Return cells without the unit that some have beside their number, and with a sign for parentheses."""
        negated = (
            negate_parentheses if self.profile.text.dialect.negative_in_parentheses else lambda cells: cells
        )
        if (
            target.kind == "integer"
            or target.unit is None
            or not text.str.contains(r"[^0-9.,+\-−'’\s]", regex=True).any()
        ):
            return negated(text)
        split = split_units(text)
        wanted = self._unit(source)
        for unit in split["unit"].unique():
            if not unit:
                continue
            rows = (split["unit"] == unit).to_numpy(dtype=bool)
            if same_unit(self.profile.unit(unit), wanted):
                text = text.mask(rows, split["number"])
            elif is_unit(self.profile.unit(unit)):
                self._add_errors(
                    target,
                    rows,
                    "unit",
                    f"has the unit {unit!r}; the profile {self.profile.name} expects {wanted!r}",
                    f"Set the tester to {wanted} and {RE_EXPORT} Or correct {self._key(target)}.unit in the profile.",
                )
                text = text.mask(rows, "")
        return negated(text)

    def _constant(self, target: TargetColumn, source: ColumnSource) -> pd.Series:
        rows = len(self.table.cells)
        if target.kind in ("number", "integer"):
            value = self._conversion(source, target)(np.full(rows, float(source.value or 0)))
            return pd.Series(value) if target.kind == "number" else pd.Series(value).astype("Int64")
        text = pd.Series([str(source.value)] * rows, dtype="str")
        return self._times(target, source, text) if target.kind == "time" else text

    def _codes(
        self, target: TargetColumn, source: ColumnSource | PreambleValue, text: pd.Series
    ) -> pd.Series:
        if source.values is None:
            return text.where(text != "", None).astype("str")
        found, unknown = map_codes(text, source.values)
        known = ", ".join(repr(word) for words in source.values.values() for word in words)
        wide = target.quantity in self.wide_quantities
        key = f"wide.values.{target.quantity}" if wide else f"{self._key(target)}.values"
        self._add_errors(
            target,
            unknown,
            "code",
            f"is not one of the profile's codes: {known}",
            f"Correct the cell and {RE_EXPORT} Or add the code to {key} in the profile {self.profile.name}.",
        )
        return found

    def _times(
        self, target: TargetColumn, source: ColumnSource | PreambleValue, text: pd.Series
    ) -> pd.Series:
        zone, time_format = source.zone or self.zone, source.format or ""
        if source.language is not None:
            text = to_english_months(text, source.language, time_format)
        found = parse_times(text, time_format, zone)
        self._add_errors(
            target,
            found.invalid,
            "time",
            f"is not a time like {_example(time_format)!r} (format {time_format!r})",
            f"Correct the date or the time and {RE_EXPORT} Or correct {self._key(target)}.format in the profile.",
        )
        self._add_errors(
            target,
            found.nonexistent,
            "clock_change",
            f"does not exist in {zone}: the clocks went forward",
            "Check the tester's clock, or export times with their UTC offset (%z in the profile's format) or in UTC.",
        )
        self._add_errors(
            target,
            found.ambiguous,
            "clock_change",
            f"occurred twice in {zone}: the clocks went back",
            "Export times with their UTC offset (%z in the profile's format), or in UTC.",
        )
        return found.utc

    def _add_errors(self, target: TargetColumn, mask: Mask, rule: str, what: str, remedy: str) -> None:
        if not mask.any():
            return
        rows, column = np.flatnonzero(mask), target.column
        text = self.out.original_cells[column].iloc[rows]
        self.out.errors.append(
            ParseErrors(column, self.out.export_names[column], rows, text, rule, what, remedy)
        )

    def _build_frame(self, values: dict[str, pd.Series]) -> None:
        """Put the columns into the model's order and types; columns that the profile does not fill are missing."""
        frame, table = self.out.frame, self.table
        hashes = np.array([file.match.file.file_hash for file in table.files], dtype=object)
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
                frame[name] = _all_missing(str(column.dtype), len(frame))


def _example(time_format: str) -> str:
    """Return a time as a format writes it."""
    if time_format in EPOCHS:
        return "1798754398" + "000" * (time_format == "epoch_ms")
    return _EXAMPLE_TIME.strftime(time_format.replace("%z", "+0200"))


def _concatenate(parts: list[pd.Series], separator: str) -> pd.Series:
    text = parts[0]
    for part in parts[1:]:
        text = text + separator + part
    return text


_CORRECT_NUMBER = (
    f"Correct the cell and {RE_EXPORT} Or set the right dialect.decimal and dialect.thousands in the profile."
)


def _expand(mask: Mask, rows: Mask) -> Mask:
    """Return a mask over some rows as a mask over all rows."""
    out = np.zeros(len(rows), dtype=bool)
    out[rows] = mask
    return out


def _all_missing(dtype: str, rows: int) -> pd.Series:
    if dtype == "float64":
        values: npt.NDArray[np.float64] = np.full(rows, np.nan)
        return pd.Series(values)
    if dtype == "Int64":
        return pd.Series([pd.NA] * rows, dtype="Int64")
    if dtype.startswith("datetime64"):
        return pd.Series([pd.NaT] * rows, dtype="datetime64[us]")
    return pd.Series([None] * rows, dtype="str")
