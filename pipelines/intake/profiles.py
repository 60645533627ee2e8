"""Export profiles: how one tester's CSV becomes one kind of record.

A profile is a TOML file. Sheetlore ships some in schemas/exports; a laboratory keeps its own in its folder
``exports``, where one with the name of a shipped profile replaces it. This module loads profiles and checks them
against the model of their record.
"""

import fnmatch
import hashlib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Literal

import pandera.pandas as pa

from pipelines.errors import SettingsError
from pipelines.intake.parsing import EPOCHS, month_names
from pipelines.intake.profile_text import ColumnSource, PreambleValue, ProfileText, fields_of
from pipelines.intake.units import UnitError, conversion
from pipelines.toml_files import checked, nearest, parse_toml
from schemas.columns import quantity_of
from schemas.properties import registry
from schemas.records import KINDS
from schemas.records.record import values_of


@dataclass(frozen=True)
class WideCell:
    """A header cell that matches the wide pattern: the quantity under it and the piece it belongs to."""

    quantity: str
    piece: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class TargetColumn:
    """A column of the record's model, which a profile names by its quantity.

    ``codes`` are the allowed texts; empty if any text is allowed.
    """

    column: str
    quantity: str
    unit: str | None
    kind: Literal["text", "number", "integer", "time"]
    nullable: bool
    codes: tuple[str, ...] = ()


def target_columns(kind: str) -> dict[str, TargetColumn]:
    """Return the columns that a profile of this kind of record can fill, by quantity."""
    found = {}
    columns = KINDS[kind].to_schema().columns
    for name in values_of(KINDS[kind]):
        column = columns[name]
        unit = (column.metadata or {}).get("unit")
        quantity = quantity_of(name, unit)
        codes = next(
            (check.statistics["allowed_values"] for check in column.checks if check.name == "isin"), ()
        )
        found[quantity] = TargetColumn(name, quantity, unit, _kind_of(column), column.nullable, tuple(codes))
    return found | {EXPORTED_AT.quantity: EXPORTED_AT}


EXPORTED_AT = TargetColumn("exported_at_utc", "exported_at", "UTC", "time", nullable=True)
"""The time of the export, which the file's records do not have but the file."""


def _kind_of(column: pa.Column) -> Literal["text", "number", "integer", "time"]:
    dtype = str(column.dtype)
    if dtype.startswith("datetime64"):
        return "time"
    return {"float64": "number", "Int64": "integer"}.get(dtype, "text")  # type: ignore[return-value]


@dataclass(frozen=True)
class Profile:
    """A checked profile: its name, its contents and a fingerprint that changes with its text."""

    name: str
    fingerprint: str
    text: ProfileText

    @cached_property
    def targets(self) -> dict[str, TargetColumn]:
        """The columns of its record, by quantity."""
        return target_columns(self.text.record)

    def header_cells(self) -> set[str]:
        """Return every header cell that the profile reads."""
        sources = (*self.text.columns.values(), *self.text.parts.values())
        return {cell for source in sources for cell in source.cells()}

    def matches_name(self, file_name: str) -> bool:
        """Return whether the file's name matches; without a pattern every name matches."""
        pattern = self.text.recognise.name
        own_name = file_name.rpartition("/")[2]
        return pattern is None or fnmatch.fnmatch(own_name.lower(), pattern.lower())

    @cached_property
    def file_values(self) -> dict[str, PreambleValue]:
        """The values that a file has once: quantities, and parts of templates as ``parts.<name>``."""
        parts = {
            f"parts.{name}": PreambleValue(line=part.line, name=part.name)
            for name, part in self.text.parts.items()
            if part.from_ is None
        }
        return {**self.text.preamble.values, **parts}

    def unit(self, text: str) -> str:
        """Return a unit as Sheetlore writes it: what the profile says that an alias means, else the text itself."""
        return self.text.units.get(text, text)

    @cached_property
    def sources(self) -> dict[str, ColumnSource | PreambleValue]:
        """The source of each quantity that the profile fills."""
        wide = self.text.wide.sources() if self.text.wide else {}
        return {**self.text.preamble.values, **self.text.columns, **wide}

    def wide_cells(self, header: tuple[str, ...]) -> list[tuple[int, WideCell]]:
        """Return the header cells that match the wide pattern, with their positions."""
        wide = self.text.wide
        if wide is None:
            return []
        named = {quantity.from_: name for name, quantity in wide.quantities.items()}
        found = []
        for position, cell in enumerate(header):
            match = re.search(wide.header, cell)
            if match:
                groups = {name: text or "" for name, text in match.groupdict().items()}
                quantity = wide.quantity or named.get(groups.pop("quantity"))
                if quantity is not None:
                    found.append((position, WideCell(quantity, tuple(sorted(groups.items())))))
        return found

    def units_by_position(self, header: tuple[str, ...]) -> list[tuple[int, str]]:
        """Return the positions of the header cells that have a unit, each with the profile's unit."""
        by_cell = {
            source.cells()[0]: unit
            for quantity, source in self.text.columns.items()
            if source.from_ is not None and (unit := self.conversion_unit(quantity))
        }
        wide = {position: cell.quantity for position, cell in self.wide_cells(header)}
        found = []
        for position, cell in enumerate(header):
            unit = by_cell.get(cell)
            if position in wide:
                unit = self.conversion_unit(wide[position])
            if unit:
                found.append((position, unit))
        return found

    def conversion_unit(self, quantity: str) -> str | None:
        """Return the unit of a quantity in the export, or None for text and times."""
        target = self.targets[quantity]
        unit = None if target.kind in ("text", "time") else self.sources[quantity].unit or target.unit
        return unit and self.unit(unit)


_DIRECTIVES = frozenset(f"%{letter}" for letter in "dmbBjYyHIMSfpzaA")
"""The directives allowed in the format of a time."""


def load_profiles(laboratory_exports: Path | None) -> list[Profile]:
    """Load the shipped profiles and a laboratory's own, which replace shipped ones of the same name.

    The result is sorted by name. Raises SettingsError with the file, the key and the problem, for all invalid
    profiles at once.
    """
    shipped = files("schemas") / "exports"
    by_name = {Path(entry.name).stem: entry for entry in shipped.iterdir() if entry.name.endswith(".toml")}
    found: dict[str, Traversable | Path] = dict(by_name)
    if laboratory_exports and laboratory_exports.is_dir():
        found |= {path.stem: path for path in sorted(laboratory_exports.glob("*.toml"))}
    profiles, problems = [], []
    for _, entry in sorted(found.items()):
        try:
            profiles.append(load_profile(Path(str(entry))))
        except SettingsError as error:
            problems.append(str(error))
    if problems:
        raise SettingsError("\n".join(problems), "Correct the profile and run again; nothing was changed.")
    return profiles


def load_profile(path: Path) -> Profile:
    """Load and check one profile; raises SettingsError."""
    data = path.read_bytes()
    text = checked(ProfileText, parse_toml(data, path), path)
    problems = list(_problems(text))
    if problems:
        raise SettingsError("\n".join(f"{path}: {problem}" for problem in problems))
    return Profile(path.stem, hashlib.sha256(data).hexdigest(), text)


def _problems(text: ProfileText) -> Iterable[str]:
    """Yield what is wrong with a profile for its kind of record."""
    if text.record not in KINDS:
        yield f"record: unknown kind {text.record!r}{nearest(text.record, list(KINDS))}"
        return
    known = target_columns(text.record)
    wants_tester = known.pop("tester", None) is not None
    if wants_tester != (text.tester is not None):
        yield (
            "tester: name the tester of these results"
            if wants_tester
            else f"tester: {text.record} records have no tester; remove this key"
        )
    if text.transpose is not None and (text.wide or text.block or text.dialect.units_row):
        yield "transpose: not together with wide, block or dialect.units_row; transpose.units says that cells are units"
    yield from _alias_problems(text)
    wide = text.wide.sources() if text.wide else {}
    tables: dict[str, Mapping[str, ColumnSource | PreambleValue]] = {
        "preamble.values": text.preamble.values,
        "columns": text.columns,
        "wide": wide,
    }
    for table, sources in tables.items():
        for quantity, source in sources.items():
            where = f"{table}.{quantity}"
            if quantity not in known:
                yield f"{where}: {text.record} records have no such quantity{nearest(quantity, list(known))}"
            else:
                yield from (
                    f"{where}: {problem}"
                    for problem in _source_problems(source, known[quantity], known, text)
                )
    for quantity in sorted(known):
        places = [table for table, sources in tables.items() if quantity in sources]
        if len(places) > 1:
            yield f"{places[1]}.{quantity}: {places[0]} gives it too; keep one"
    given = {quantity for sources in tables.values() for quantity in sources}
    for quantity, source in text.columns.items():
        for name in source.count_within or ():
            if name in known and name not in given:
                yield f"columns.{quantity}: count_within: this profile does not read {name!r}"
    if text.record in ("further", "stock"):
        yield from _further_problems(text, given)
    for quantity, target in known.items():
        if not target.nullable and quantity not in given:
            yield (
                f"columns: {text.record} records need {quantity!r}; name its header cell, or give a constant as "
                "{ value = … }"
            )


def _further_problems(text: ProfileText, given: set[str]) -> Iterable[str]:
    """Yield what is wrong with the properties of further tests and their unit."""
    known = {name: entry for name, entry in registry().items() if entry.readings == text.record}
    source = text.columns.get("property")
    named = list(source.values or ()) if source else []
    if source is not None and source.value is not None:
        named = [str(source.value)]
    for name in named:
        if name not in known:
            yield f"columns.property: unknown property {name!r}{nearest(name, list(known))}"
    value = text.columns.get("value") or text.preamble.values.get("value")
    if value is None:
        return
    if (value.unit is None) == ("unit" not in given):
        yield "columns.value: give the unit of the export, or the column unit, which names it in each line"
        return
    for name in named:
        if value.unit is not None and name in known:
            try:
                conversion(value.unit, known[name].unit)
            except UnitError as error:
                yield f"columns.value: unit: {name}: {error}"


def _source_problems(
    source: ColumnSource | PreambleValue,
    target: TargetColumn,
    known: dict[str, TargetColumn],
    text: ProfileText,
) -> Iterable[str]:
    if target.kind == "time":
        yield from _format_problems(source.format)
        if source.language is not None and not month_names(source.language):
            yield f"language: {source.language!r} is not a language code; write for example 'de'"
    elif source.format is not None or source.zone is not None or source.language is not None:
        yield "format, zone and language are only for times"
    if isinstance(source, ColumnSource) and source.template is not None:
        for name in fields_of(source.template):
            if name not in text.parts:
                yield f"template: parts has no {name!r}{nearest(name, list(text.parts))}"
    if target.kind != "number":
        if source.unit is not None:
            yield f"{target.quantity} has no unit"
    elif target.unit is None:
        pass  # the unit of a further test is that of its property
    elif source.unit is None:
        if target.unit != "1":
            yield f"add the unit of the export, for example unit = {target.unit!r}"
    else:
        try:
            conversion(text.units.get(source.unit, source.unit), target.unit or "1")
        except UnitError as error:
            yield f"unit: {error}"
    if source.values is not None:
        yield from _code_problems(source.values, target)
    if isinstance(source, ColumnSource) and source.value is not None:
        yield from _constant_problems(source.value, target)
    if isinstance(source, ColumnSource) and source.count_within is not None:
        if target.kind != "integer":
            yield "count_within numbers rows; use it only for a whole number"
        for name in source.count_within:
            if name not in known or known[name].kind != "text":
                yield f"count_within: {name!r} is not a text quantity of the record"


def _format_problems(time_format: str | None) -> Iterable[str]:
    """Yield why a format does not define a point in time."""
    if time_format is None:
        yield "a time needs a format, for example '%d.%m.%Y %H:%M:%S'"
        return
    if time_format in EPOCHS:
        return
    directives = set(re.findall("%.", time_format.replace("%%", "")))
    day = directives & {"%j"} or (directives & {"%d"} and directives & {"%m", "%b", "%B"})
    if unknown := directives - _DIRECTIVES:
        yield f"format: {', '.join(sorted(unknown))} is not allowed; allowed are {' '.join(sorted(_DIRECTIVES))}"
    elif not (day and directives & {"%Y", "%y"}):
        yield f"format: {time_format!r} lacks the day, the month or the year"
    elif "%I" in directives and "%p" not in directives:
        yield f"format: {time_format!r} has 12-hour hours (%I) and needs %p"


def _alias_problems(text: ProfileText) -> Iterable[str]:
    """Yield which aliases of units stand for no unit."""
    for alias, unit in text.units.items():
        try:
            conversion(unit, unit)
        except UnitError as error:
            yield f"units.{alias}: {error}"


def _code_problems(values: dict[str, tuple[str, ...]], target: TargetColumn) -> Iterable[str]:
    if target.kind != "text":
        yield "values are only for codes; this is a number or a time"
    for code in values:
        if target.codes and code not in target.codes:
            yield f"values.{code}: unknown code{nearest(code, list(target.codes))}"
    texts = [text for group in values.values() for text in group]
    for text in sorted({text for text in texts if texts.count(text) > 1}):
        yield f"values: {text!r} is listed more than once"


def _constant_problems(value: str | int | float, target: TargetColumn) -> Iterable[str]:
    if target.kind == "number" and (isinstance(value, str) or not math.isfinite(value)):
        yield f"value: {value!r} is not a number; write it without quotes and with a decimal point"
    if target.kind == "integer" and not isinstance(value, int):
        yield f"value: {value!r} is not a whole number"
