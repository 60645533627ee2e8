"""The tensile quantities, and the columns that marts have for each of them.

A quantity gives a column for each grammage basis, for each direction, for the geometric mean of MD and CD and
for their ratio. Such families are declared here once; a mart's model takes them in by ``with_columns``.
"""

import types
from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import pandera.pandas as pa

from schemas.columns import SUFFIX_OF_UNIT, column
from schemas.names import GRAMMAGE_BASES, TENSILE_PROPERTIES

Model = TypeVar("Model", bound=pa.DataFrameModel)


class Quantity(NamedTuple):
    """A property of a sheet: its name without the unit, its UCUM code, what it is and who defines it."""

    name: str
    unit: str
    description: str
    source: str | None = None

    def column_name(self, *parts: str) -> str:
        """Return the name of a column of this quantity: its name, further parts, its unit's ending."""
        return "_".join([self.name, *parts, SUFFIX_OF_UNIT[self.unit]])


_TENSILE = "ISO 1924-3"

PER_GRAMMAGE = (
    Quantity("tensile_index", "N.m/g", "Tensile strength over grammage.", _TENSILE),
    Quantity("breaking_length", "km", "Tensile index over 9.80665 m/s2.", "definition"),
    Quantity("tea_index", "J/g", "Tensile energy absorption over grammage.", _TENSILE),
    Quantity("tensile_stiffness_index", "kN.m/g", "Tensile stiffness over grammage.", _TENSILE),
)
"""The tensile quantities that are made with a grammage and so exist on each basis."""

TENSILE = (
    Quantity("tensile_strength", "kN/m", "Maximum force per width.", _TENSILE),
    *PER_GRAMMAGE[:2],
    Quantity("stretch", "%", "Elongation at maximum force over the span.", _TENSILE),
    Quantity("tea", "J/m2", "Energy to maximum force per area between the clamps.", _TENSILE),
    PER_GRAMMAGE[2],
    Quantity("tensile_stiffness", "kN/m", "Maximum slope of force per width against strain.", _TENSILE),
    PER_GRAMMAGE[3],
    Quantity(
        "elastic_modulus",
        "GPa",
        "Tensile stiffness over the sheet's mean thickness of the kind that thickness_kind names.",
        _TENSILE,
    ),
)
"""Every tensile quantity, in the order of the tables."""
assert tuple(quantity.name for quantity in TENSILE) == TENSILE_PROPERTIES

PHYSICAL = (
    Quantity("grammage", "g/m2", "Mean grammage on the basis that grammage_basis names.", "ISO 536"),
    Quantity("moisture", "%", "Mean moisture content of the oven-dry pairs, wet basis.", "definition"),
    Quantity("thickness", "um", "Mean thickness of single sheets, at one pressure.", "ISO 534"),
    Quantity(
        "thickness_stack", "um", "Mean thickness of a pack divided by its sheets, at one pressure.", "ISO 534"
    ),
    Quantity(
        "apparent_density",
        "kg/m3",
        "Mean grammage over mean thickness of the kind that thickness_kind names.",
        "ISO 534",
    ),
    Quantity(
        "bulk",
        "cm3/g",
        "Mean thickness of the kind that thickness_kind names over mean grammage.",
        "ISO 534",
    ),
)
"""The quantities of a sheet that have no direction."""

DIRECTED = (
    ("md", "along the drum's running direction"),
    ("cd", "across the drum's running direction"),
    ("geometric_mean", "geometric mean of MD and CD"),
)


def of_a_piece() -> dict[str, Any]:
    """Return the columns of one test piece: each quantity, those per grammage on each basis besides."""
    columns: dict[str, Any] = {}
    for quantity in TENSILE:
        per_grammage = quantity in PER_GRAMMAGE
        made_with = " With the sheet's mean grammage on the basis that grammage_basis names."
        columns[quantity.column_name()] = column(
            quantity.description + (made_with if per_grammage else ""),
            unit=quantity.unit,
            source=quantity.source,
            nullable=True,
        )
        for basis in GRAMMAGE_BASES if per_grammage else ():
            columns[quantity.column_name(basis)] = column(
                f"{quantity.description} With the sheet's mean {basis.replace('_', '-')} grammage.",
                unit=quantity.unit,
                source=quantity.source,
                nullable=True,
            )
    return columns


def of_a_sheet() -> dict[str, Any]:
    """Return the columns of one sheet: each quantity's mean in MD and CD, their geometric mean and ratio."""
    columns: dict[str, Any] = {}
    for quantity in TENSILE:
        for part, words in DIRECTED:
            columns[quantity.column_name(part)] = column(
                f"{quantity.description} {words.capitalize()}. {_mean_of_pieces(quantity)}",
                unit=quantity.unit,
                source=quantity.source,
                nullable=True,
            )
        columns[f"{quantity.name}_md_cd_ratio"] = column(
            f"{quantity.description} MD over CD.", unit="1", nullable=True
        )
    return columns


def of_a_trial_point() -> dict[str, Any]:
    """Return the columns of one trial point: for each quantity the mean of its sheets and their spread."""
    columns: dict[str, Any] = {}
    for quantity in PHYSICAL:
        columns |= _mean_and_spread(quantity, quantity.description)
    for quantity in TENSILE:
        for part, words in DIRECTED:
            columns |= _mean_and_spread(quantity, f"{quantity.description} {words.capitalize()}.", part)
        ratio = f"{quantity.name}_md_cd_ratio"
        text = f"{quantity.description} MD over CD."
        columns[ratio] = column(f"{text} Mean over sheets.", unit="1", nullable=True)
        columns[f"{ratio}_s"] = column(
            f"{text} Sample standard deviation between sheets.", unit="1", nullable=True
        )
    return columns


def with_columns(columns: dict[str, Any]) -> Callable[[type[Model]], type[Model]]:
    """Return a class decorator that adds columns of numbers after those that a model declares itself."""

    def extended(model: type[Model]) -> type[Model]:
        namespace = {
            "__doc__": model.__doc__,
            "__module__": model.__module__,
            "__annotations__": dict.fromkeys(columns, float),
            "Config": model.Config,
            **columns,
        }
        return cast(
            type[Model], types.new_class(model.__name__, (model,), {}, lambda body: body.update(namespace))
        )

    return extended


def _mean_of_pieces(quantity: Quantity) -> str:
    if quantity in PER_GRAMMAGE:
        return (
            "Mean of the pieces' indices, each made with the sheet's mean grammage on the basis that "
            "grammage_basis names."
        )
    return "Mean of the pieces that count."


def _mean_and_spread(quantity: Quantity, text: str, *parts: str) -> dict[str, Any]:
    return {
        quantity.column_name(*parts): column(
            f"{text} Mean over sheets.", unit=quantity.unit, source=quantity.source, nullable=True
        ),
        quantity.column_name(*parts, "s"): column(
            f"{text} Sample standard deviation between sheets; missing for fewer than two.",
            unit=quantity.unit,
            nullable=True,
        ),
    }
