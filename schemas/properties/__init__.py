"""The registry of properties: what a sheet has a value of. Each is declared once, in a TOML file beside this module.

A property is either **measured** (by readings of a kind of record) or **made** of others as a product of powers with a
factor: ``tensile_index = 1000 x tensile_strength^1 x grammage^-1``. A made property's formula, value, uncertainty and
columns all follow from its entry. The keys of an entry:

- ``unit``: UCUM code from ``schemas.columns.SUFFIX_OF_UNIT``
- ``description``, ``source``: what it is, and the standard or book that defines it
- ``direction``: ``"strip"`` where MD and CD differ; a made property has the direction of what it is made of
- ``readings``: the kind of record whose pieces are averaged to it
- ``powers``, ``factor``, ``divisor``: what it is made of; ``thickness``: the kind that the settings select
- ``instrument``: powers of what the tester measures (force, elongation, width, span), for the uncertainty
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from importlib.resources import files

from schemas.units import SUFFIX_OF_UNIT

SHEET_LEVEL = ("grammage", "thickness")
"""Properties of the whole sheet that made properties may have a power of."""

INSTRUMENT = ("force", "elongation", "width", "span")
"""What a tensile tester measures, each with an accuracy of its own."""


@dataclass(frozen=True)
class Property:
    """One entry of the registry; its keys are described at the head of this module."""

    name: str
    unit: str
    description: str
    source: str | None = None
    direction: str | None = None
    readings: str | None = None
    powers: Mapping[str, int] = field(default_factory=dict)
    factor: float = 1.0
    divisor: float = 1.0
    instrument: Mapping[str, int] = field(default_factory=dict)

    @cached_property
    def suffix(self) -> str:
        """The ending of the columns that hold it."""
        return SUFFIX_OF_UNIT[self.unit]

    def column_name(self, *parts: str) -> str:
        """Return the name of a column of this property: its name, further parts, its unit's ending."""
        return "_".join([self.name, *parts, self.suffix])

    @cached_property
    def base_powers(self) -> Mapping[str, int]:
        """Powers of measured properties: what it is made of, with made properties replaced by theirs."""
        if not self.powers:
            return {self.name: 1}
        base: dict[str, int] = {}
        for name, power in self.powers.items():
            for measured, inner in REGISTRY[name].base_powers.items():
                base[measured] = base.get(measured, 0) + power * inner
        return {name: power for name, power in base.items() if power}

    @cached_property
    def base_factor(self) -> float:
        """The factor that goes with ``base_powers``."""
        factor = self.factor / self.divisor
        for name, power in self.powers.items():
            factor *= REGISTRY[name].base_factor ** power
        return factor

    @cached_property
    def averaged(self) -> "Property | None":
        """The measured property whose test pieces are averaged, or None where only sheet-level properties enter."""
        names = [name for name in self.base_powers if REGISTRY[name].readings]
        return REGISTRY[names[0]] if names else None

    @cached_property
    def has_direction(self) -> bool:
        """Whether MD and CD differ."""
        return any(REGISTRY[name].direction is not None for name in self.base_powers)

    @cached_property
    def has_basis(self) -> bool:
        """Whether a grammage enters, so that it exists on each grammage basis."""
        return "grammage" in self.base_powers and self.name != "grammage"

    def instrument_power(self, quantity: str) -> int | None:
        """Return the power of what a tester measures in this property, or None where it does not enter."""
        measured = self.averaged
        return measured.instrument.get(quantity) if measured else None

    @cached_property
    def formula(self) -> str | None:
        """The formula of a made property over the columns of what it is made of, as SQL; None where it is measured."""
        if not self.powers:
            return None
        above = [repr(float(self.factor))] if self.factor != 1 else []
        above += [_raised(name, power) for name, power in self.powers.items() if power > 0]
        below = [_raised(name, -power) for name, power in self.powers.items() if power < 0]
        below += [repr(self.divisor)] if self.divisor != 1 else []
        return " / ".join([" * ".join(above) or "1.0", *below])

    @cached_property
    def arguments(self) -> tuple[str, ...]:
        """The columns in its formula."""
        return tuple(REGISTRY[name].column_name() for name in self.powers)


def _raised(name: str, power: int) -> str:
    column = REGISTRY[name].column_name()
    return column if power == 1 else f"{column} ** {power}"


def _load() -> dict[str, Property]:
    entries: dict[str, Property] = {}
    folder = files("schemas.properties")
    for path in sorted(
        (path for path in folder.iterdir() if path.name.endswith(".toml")), key=lambda path: path.name
    ):
        for name, entry in tomllib.loads(path.read_text(encoding="utf-8")).items():
            entries[name] = Property(name, **entry)
    return entries


REGISTRY: Mapping[str, Property] = _load()
"""Name -> property, in the order of the files and of the entries in them."""

DIRECTED = tuple(entry for entry in REGISTRY.values() if entry.has_direction)
"""Properties that differ between MD and CD."""

UNDIRECTED = tuple(entry for entry in REGISTRY.values() if not entry.has_direction)
"""Properties without a direction."""
