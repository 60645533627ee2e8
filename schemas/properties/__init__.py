"""The registry of properties: what a sheet has a value of. Each is declared once, in a TOML file.

Shipped files stand beside this module, one for each test method. A laboratory's own stand in its folder ``properties``;
an entry there replaces the shipped entry of the same name. ``registry()`` returns the entries in force.

A property is either **measured** (by readings of a kind of record) or **made** of others as a product of powers with a
factor: ``tensile_index = 1000 x tensile_strength^1 x grammage^-1``. A made property's formula, value, uncertainty and
columns all follow from its entry. The keys of an entry:

- ``unit``: UCUM code
- ``description``, ``source``: what it is, and the standard or book that defines it
- ``readings``: the kind of record whose values are averaged to it; ``"further"`` for any test of
  a sheet that has no kind of its own, ``"stock"`` for a test of a furnish
- ``powers``, ``factor``, ``divisor``: what it is made of; ``thickness``: the kind that the settings select
- ``plausible``: lowest and highest value that laboratory sheets usually have (common practice, no source)

The keys of a measured property:

- ``direction``: ``"none"``; ``"strip"`` where MD and CD are the direction of the force; ``"tear"`` where they are that
  of the tear line; ``"signed"`` for an angle or a curvature that has a sign and no MD and CD
- ``sided``: whether the two sides of a sheet differ
- ``mean``: ``"arithmetic"``; ``"logarithmic"``: mean and standard deviation of the logarithms; ``"circular"``: mean of
  angles in degrees that repeat after 180
- ``standard_atmosphere``: whether the result depends on the atmosphere of the test
- ``never_pooled``: conditions of a test that are part of what its value is, from ``CONDITIONS``, besides its method,
  side, ply and treatment, which always are
- ``usual_readings``, ``usual_cv_pct``: usual number of readings of a sheet and direction, and the usual coefficient of
  variation between them (common practice, no source)
- ``instrument``: powers of what the tester measures (force, elongation, width, span), for the uncertainty

The keys of a property measured by ``further`` or ``stock`` records:

- ``raw``: powers of the raw quantities, from ``RAW_UNITS``, that give the value with ``factor`` and ``divisor``, for
  testers that do not export the value itself
- ``limits``: lowest and highest value of a reading; a reading outside them is on hold
"""

import json
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, cached_property, wraps
from importlib.resources import files
from typing import Any, Literal, ParamSpec, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from schemas.units import suffix_of

P = ParamSpec("P")
R = TypeVar("R")

SHEET_LEVEL = ("grammage", "thickness")
"""Properties of the whole sheet that made properties may have a power of."""

INSTRUMENT = ("force", "elongation", "width", "span")
"""What a tensile tester measures, each with an accuracy of its own."""

RAW_UNITS = {
    "force": "N",
    "energy": "J",
    "mass_gain": "g",
    "ash_mass": "g",
    "dry_mass": "g",
    "length": "mm",
    "width": "mm",
    "extension": "mm",
    "area": "mm2",
    "volume": "mL",
    "flow": "mL/min",
    "test_time": "s",
    "angle": "deg",
    "pressure": "kPa",
    "plies": "1",
}
"""Quantity of a ``further`` record that an entry's ``raw`` may have a power of -> its unit there."""

CONDITIONS = ("pressure", "test_time", "length", "rate")
"""Quantities of a ``further`` record that say under which conditions its value was measured."""


class Property(BaseModel):
    """One entry of the registry; its keys are described at the head of this module."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)

    name: str
    unit: str
    description: str = Field(pattern=r"\.$")
    source: str | None = None
    direction: Literal["none", "strip", "tear", "signed"] = "none"
    sided: bool = False
    mean: Literal["arithmetic", "logarithmic", "circular"] = "arithmetic"
    standard_atmosphere: bool = True
    never_pooled: tuple[Literal["pressure", "test_time", "length", "rate"], ...] = Field((), strict=False)
    readings: str | None = None
    powers: Mapping[str, int] = {}
    factor: float = Field(1.0, gt=0)
    divisor: float = Field(1.0, gt=0)
    raw: Mapping[str, int] = {}
    instrument: Mapping[Literal["force", "elongation", "width", "span"], int] = {}
    limits: tuple[float, float] | None = Field(None, strict=False)
    plausible: tuple[float, float] | None = Field(None, strict=False)
    usual_readings: int | None = Field(None, ge=1)
    usual_cv_pct: float | None = Field(None, gt=0)

    _all: Mapping[str, "Property"] = {}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Property) and (self.name, self.stated()) == (other.name, other.stated())

    def __hash__(self) -> int:
        return hash(self.name)

    def stated(self) -> dict[str, Any]:
        """Return the keys that its entry states, as plain values."""
        return self.model_dump(mode="json", exclude_unset=True, exclude={"name"})

    @cached_property
    def suffix(self) -> str:
        """The ending of the columns that hold it."""
        return suffix_of(self.unit)

    def column_name(self, *parts: str) -> str:
        """Return the name of a column of this property: its name, further parts, its unit's ending."""
        return "_".join(filter(None, [self.name, *parts, self.suffix]))

    @cached_property
    def base_powers(self) -> Mapping[str, int]:
        """Powers of measured properties: what it is made of, with made properties replaced by theirs."""
        if not self.powers:
            return {self.name: 1}
        base: dict[str, int] = {}
        for name, power in self.powers.items():
            for measured, inner in self._all[name].base_powers.items():
                base[measured] = base.get(measured, 0) + power * inner
        return {name: power for name, power in base.items() if power}

    @cached_property
    def base_factor(self) -> float:
        """The factor that goes with ``base_powers``."""
        if not self.powers:
            return 1.0
        factor = self.factor / self.divisor
        for name, power in self.powers.items():
            factor *= self._all[name].base_factor ** power
        return factor

    @cached_property
    def averaged(self) -> "Property | None":
        """The measured property whose readings are averaged, or None where only sheet-level properties enter."""
        names = [name for name in self.base_powers if self._all[name].readings]
        return self._all[names[0]] if names else None

    @cached_property
    def has_direction(self) -> bool:
        """Whether MD and CD differ."""
        return any(self._all[name].direction in ("strip", "tear") for name in self.base_powers)

    @cached_property
    def has_basis(self) -> bool:
        """Whether a grammage enters, so that it exists on each grammage basis."""
        return "grammage" in self.base_powers and self.name != "grammage"

    def is_read_by(self, kind: str) -> bool:
        """Return whether records of this kind are averaged to it."""
        return self.averaged is not None and self.averaged.readings == kind

    def instrument_power(self, quantity: str) -> int | None:
        """Return the power of what a tester measures in this property, or None where it does not enter."""
        return next((power for name, power in self._instrument() if name == quantity), None)

    def _instrument(self) -> Iterable[tuple[str, int]]:
        return self.averaged.instrument.items() if self.averaged else ()

    @cached_property
    def formula(self) -> str | None:
        """The formula of a made property over the columns of what it is made of, as SQL; None where it is measured."""
        if not self.powers:
            return None
        above = [repr(float(self.factor))] if self.factor != 1 else []
        above += [self._raised(name, power) for name, power in self.powers.items() if power > 0]
        below = [self._raised(name, -power) for name, power in self.powers.items() if power < 0]
        below += [repr(self.divisor)] if self.divisor != 1 else []
        return " / ".join([" * ".join(above) or "1.0", *below])

    @cached_property
    def arguments(self) -> tuple[str, ...]:
        """The columns in its formula."""
        return tuple(self._all[name].column_name() for name in self.powers)

    def _raised(self, name: str, power: int) -> str:
        column = self._all[name].column_name()
        return column if power == 1 else f"{column} ** {power}"


class Registry(Mapping[str, Property]):
    """Name -> property, in the order of the files and of the entries in them. Equal entries make equal registries."""

    def __init__(self, entries: Mapping[str, Property]) -> None:
        self._entries = {name: Property(name=name, **entry.stated()) for name, entry in entries.items()}
        for entry in self._entries.values():
            entry._all = self._entries
        self.text = json.dumps({name: entry.stated() for name, entry in self._entries.items()})
        """All entries as JSON: what a snapshot carries."""

    @classmethod
    def from_text(cls, text: str) -> "Registry":
        """Return the registry whose ``text`` this is."""
        return cls({name: Property(name=name, **keys) for name, keys in json.loads(text).items()})

    def __getitem__(self, name: str) -> Property:
        return self._entries[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Registry) and self.text == other.text

    def __hash__(self) -> int:
        return hash(self.text)

    @cached_property
    def _with_means(self) -> tuple[Property, ...]:
        return tuple(entry for entry in self.values() if not entry.is_read_by("stock"))

    @cached_property
    def directed(self) -> tuple[Property, ...]:
        """Properties that differ between MD and CD."""
        return tuple(entry for entry in self._with_means if entry.has_direction)

    @cached_property
    def undirected(self) -> tuple[Property, ...]:
        """Properties without MD and CD."""
        return tuple(entry for entry in self._with_means if not entry.has_direction)

    @cached_property
    def of_pieces(self) -> tuple[Property, ...]:
        """Properties that each tensile test piece has."""
        return tuple(entry for entry in self.values() if entry.is_read_by("tensile"))


@cache
def shipped() -> Registry:
    """Return the registry of the shipped files."""
    entries: dict[str, Property] = {}
    paths = (path for path in files("schemas.properties").iterdir() if path.name.endswith(".toml"))
    for path in sorted(paths, key=lambda path: path.name):
        for name, keys in tomllib.loads(path.read_text(encoding="utf-8")).items():
            entries[name] = Property(name=name, **keys)
    return Registry(entries)


_in_force: ContextVar[Registry | None] = ContextVar("registry", default=None)


def registry() -> Registry:
    """Return the registry in force: that of ``in_force``, else the shipped one."""
    return _in_force.get() or shipped()


@contextmanager
def in_force(of_a_laboratory: Registry) -> Iterator[Registry]:
    """Let a laboratory's registry be in force in a block: every table, statement and page in it has its properties."""
    token = _in_force.set(of_a_laboratory)
    try:
        yield of_a_laboratory
    finally:
        _in_force.reset(token)


def cached_by_registry(function: Callable[P, R]) -> Callable[P, R]:
    """Cache a function whose result follows from its arguments and the registry in force."""

    @cache
    def with_registry(_registry: Registry, *args: P.args, **kwargs: P.kwargs) -> R:
        return function(*args, **kwargs)

    @wraps(function)
    def now(*args: P.args, **kwargs: P.kwargs) -> R:
        return with_registry(registry(), *args, **kwargs)  # type: ignore[arg-type]

    return now
