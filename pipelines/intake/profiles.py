"""Export profiles: how one tester's CSV becomes one kind of record.

A profile is a TOML file. Sheetlore ships some in schemas/exports; a laboratory's own stand in its folder
``exports`` and win over shipped ones of the same name. This module says what a profile may contain, checks it
against the record it makes, and loads them; reading a file by a profile is the business of reading.py.
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
from pipelines.intake.profile_text import ColumnSource, PreambleValue, ProfileText
from pipelines.intake.units import UnitError, conversion
from pipelines.settings import checked, nearest, read_toml
from schemas.columns import quantity_of
from schemas.records import KINDS, STORED
from schemas.records.record import values_of


@dataclass(frozen=True)
class WideCell:
    """A header cell that matches the wide pattern: the quantity under it and the piece it belongs to."""

    quantity: str
    piece: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Target:
    """A column of the record's model, as a profile addresses it: by its quantity.

    ``codes`` are the only texts the column may hold, if it is held to any.
    """

    column: str
    quantity: str
    unit: str | None
    kind: Literal["text", "number", "integer", "time"]
    nullable: bool
    codes: tuple[str, ...] = ()


def targets(kind: str) -> dict[str, Target]:
    """Return the quantities that a profile of a kind of record may fill."""
    found = {}
    columns = KINDS[kind].to_schema().columns
    for name in values_of(KINDS[kind]):
        column = columns[name]
        unit = (column.metadata or {}).get("unit")
        quantity = quantity_of(name, unit)
        codes = next(
            (check.statistics["allowed_values"] for check in column.checks if check.name == "isin"), ()
        )
        found[quantity] = Target(name, quantity, unit, _kind_of(column), column.nullable, tuple(codes))
    return found


def _kind_of(column: pa.Column) -> Literal["text", "number", "integer", "time"]:
    dtype = str(column.dtype)
    if dtype.startswith("datetime64"):
        return "time"
    return {"float64": "number", "Int64": "integer"}.get(dtype, "text")  # type: ignore[return-value]


@dataclass(frozen=True)
class Profile:
    """A checked profile, with its name and a fingerprint that changes when its text does."""

    name: str
    fingerprint: str
    text: ProfileText

    @cached_property
    def targets(self) -> dict[str, Target]:
        """The quantities of the record it makes."""
        return targets(self.text.record)

    def header_cells(self) -> set[str]:
        """Return every header cell that the profile reads or recognises a file by."""
        sources = (source.from_ or () for source in self.text.columns.values())
        return set(self.text.recognise.header).union(*sources)

    def matches_name(self, file_name: str) -> bool:
        """Return whether the file's name fits; without a pattern every name does."""
        pattern = self.text.recognise.name
        own_name = file_name.rpartition("/")[2]
        return pattern is None or fnmatch.fnmatch(own_name.lower(), pattern.lower())

    @cached_property
    def sources(self) -> dict[str, ColumnSource | PreambleValue]:
        """Where each quantity that the profile gives comes from."""
        wide = self.text.wide.sources() if self.text.wide else {}
        return {**self.text.preamble.values, **self.text.columns, **wide}

    def wide_cells(self, header: tuple[str, ...]) -> list[tuple[int, WideCell]]:
        """Return the cells of a header that match the wide pattern, with their positions."""
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
        """Return the positions in a header of the columns that have a unit, each with the profile's unit."""
        by_cell = {
            " ".join(source.from_[0].split()): unit
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
        """Return the unit in which the export gives a quantity, or None for text and times."""
        target = self.targets[quantity]
        return None if target.kind in ("text", "time") else self.sources[quantity].unit or target.unit


_DIRECTIVES = frozenset(f"%{letter}" for letter in "dmbBjYyHIMSfpzaA")
"""What a time's format may be made of."""


def load(laboratory_exports: Path | None) -> list[Profile]:
    """Load the shipped profiles and a laboratory's own, which win by name; sorted by name.

    Raises SettingsError that names the file, the key and what is wrong, for all faulty profiles at once.
    """
    shipped = files("schemas") / "exports"
    by_name = {Path(entry.name).stem: entry for entry in shipped.iterdir() if entry.name.endswith(".toml")}
    found: dict[str, Traversable | Path] = dict(by_name)
    if laboratory_exports and laboratory_exports.is_dir():
        found |= {path.stem: path for path in sorted(laboratory_exports.glob("*.toml"))}
    profiles, complaints = [], []
    for _, entry in sorted(found.items()):
        try:
            profiles.append(load_one(Path(str(entry))))
        except SettingsError as error:
            complaints.append(str(error))
    if complaints:
        raise SettingsError("\n".join(complaints), "Mend the profile; nothing was changed.")
    return profiles


def load_one(path: Path) -> Profile:
    """Load and check one profile file; raises SettingsError."""
    text = checked(ProfileText, read_toml(path), path)
    complaints = list(_complaints(text))
    if complaints:
        raise SettingsError("\n".join(f"{path}: {complaint}" for complaint in complaints))
    fingerprint = hashlib.sha256(path.read_bytes()).hexdigest()
    return Profile(path.stem, fingerprint, text)


def _complaints(text: ProfileText) -> Iterable[str]:
    """Yield what in a profile does not fit the record it makes."""
    if text.record not in KINDS:
        yield f"record: there is no kind {text.record!r}{nearest(text.record, list(KINDS))}"
        return
    if text.wide is not None and STORED[text.record] is KINDS[text.record]:
        yield f"wide: a {text.record} record stands in a line of its own; only tensile_curve can be read so"
    known = targets(text.record)
    wants_tester = known.pop("tester", None) is not None
    if wants_tester != (text.tester is not None):
        yield (
            "tester: name the instrument that these results come from"
            if wants_tester
            else f"tester: a {text.record} record has no tester; leave it out"
        )
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
                yield f"{where}: a {text.record} record has no such quantity{nearest(quantity, list(known))}"
            else:
                yield from (f"{where}: {fault}" for fault in _source_faults(source, known[quantity], known))
    for quantity in sorted(known):
        places = [table for table, sources in tables.items() if quantity in sources]
        if len(places) > 1:
            yield f"{places[1]}.{quantity}: stands in {places[0]} too; keep one"
    given = {quantity for sources in tables.values() for quantity in sources}
    for quantity, source in text.columns.items():
        for name in source.count_within or ():
            if name in known and name not in given:
                yield f"columns.{quantity}: count_within: this profile does not give {name!r}"
    for quantity, target in known.items():
        if not target.nullable and quantity not in given:
            yield (
                f"columns: a {text.record} record needs {quantity!r}; name its header cell, or give a "
                "constant as { value = … }"
            )


def _source_faults(
    source: ColumnSource | PreambleValue, target: Target, known: dict[str, Target]
) -> Iterable[str]:
    if target.kind == "time":
        yield from _format_faults(source.format)
    if target.kind != "time" and (source.format is not None or source.zone is not None):
        yield "format and zone are for times"
    if target.kind != "number":
        if source.unit is not None:
            yield f"{target.quantity} has no unit"
    elif source.unit is None:
        if target.unit != "1":
            yield f"say in which unit the export gives it, such as unit = {target.unit!r}"
    else:
        try:
            conversion(source.unit, target.unit or "1")
        except UnitError as error:
            yield f"unit: {error}"
    if source.values is not None:
        yield from _code_faults(source.values, target)
    if isinstance(source, ColumnSource) and source.value is not None:
        yield from _constant_faults(source.value, target)
    if isinstance(source, ColumnSource) and source.count_within is not None:
        if target.kind != "integer":
            yield "count_within numbers rows; only a whole-number quantity can take it"
        for name in source.count_within:
            if name not in known or known[name].kind != "text":
                yield f"count_within: {name!r} is no text quantity of the record"


def _format_faults(time_format: str | None) -> Iterable[str]:
    """Yield why a format does not tell a point in time without a guess."""
    if time_format is None:
        yield "a time needs a format such as '%d.%m.%Y %H:%M:%S'"
        return
    directives = set(re.findall("%.", time_format.replace("%%", "")))
    day = directives & {"%j"} or (directives & {"%d"} and directives & {"%m", "%b", "%B"})
    if unknown := directives - _DIRECTIVES:
        yield f"format: {', '.join(sorted(unknown))} cannot be used; these can: {' '.join(sorted(_DIRECTIVES))}"
    elif not (day and directives & {"%Y", "%y"}):
        yield f"format: {time_format!r} does not tell day, month and year"
    elif "%I" in directives and "%p" not in directives:
        yield f"format: {time_format!r} has hours to 12 (%I) and so needs %p"


def _code_faults(values: dict[str, tuple[str, ...]], target: Target) -> Iterable[str]:
    if target.kind != "text":
        yield "values are for codes, and this is a number or a time"
    for meaning in values:
        if target.codes and meaning not in target.codes:
            yield f"values.{meaning}: there is no such code{nearest(meaning, list(target.codes))}"
    texts = [text for of_meaning in values.values() for text in of_meaning]
    for text in sorted({text for text in texts if texts.count(text) > 1}):
        yield f"values: {text!r} stands for more than one thing"


def _constant_faults(value: str | int | float, target: Target) -> Iterable[str]:
    if target.kind == "number" and (isinstance(value, str) or not math.isfinite(value)):
        yield f"value: {value!r} is no number; write it without quotes and with a point"
    if target.kind == "integer" and not isinstance(value, int):
        yield f"value: {value!r} is no whole number"
