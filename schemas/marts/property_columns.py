"""The columns that marts have for each property of the registry.

A property gives a column for each grammage basis, for each direction, for the geometric mean of MD and CD and
for their ratio. A mart's model adds them by ``with_columns``.
"""

import types
from collections.abc import Callable
from typing import Any, TypeVar, cast

import pandera.pandas as pa

from schemas.columns import column
from schemas.names import GRAMMAGE_BASES
from schemas.properties import Property, registry

Model = TypeVar("Model", bound=pa.DataFrameModel)


PARTS = (
    ("md", "along the drum's running direction"),
    ("cd", "across the drum's running direction"),
    ("geometric_mean", "geometric mean of MD and CD"),
)


def of_a_piece() -> dict[str, Any]:
    """Return the columns of one test piece: each property; those made with a grammage also on each basis."""
    columns: dict[str, Any] = {}
    for entry in registry().of_pieces:
        per_grammage = entry.has_basis
        made_with = " With the sheet's mean grammage on the basis that grammage_basis names."
        columns[entry.column_name()] = column(
            entry.description + (made_with if per_grammage else ""),
            unit=entry.unit,
            source=entry.source,
            nullable=True,
        )
        for basis in GRAMMAGE_BASES if per_grammage else ():
            columns[entry.column_name(basis)] = column(
                f"{entry.description} With the sheet's mean {basis.replace('_', '-')} grammage.",
                unit=entry.unit,
                source=entry.source,
                nullable=True,
            )
    return columns


def of_a_sheet() -> dict[str, Any]:
    """Return the columns of one sheet: each property's mean in MD and CD, their geometric mean and ratio.

    Of properties without a direction, those of further tests; the others are columns of the table's own.
    """
    columns: dict[str, Any] = {
        entry.column_name(): column(
            f"{entry.description} {_mean_of_pieces(entry)}",
            unit=entry.unit,
            source=entry.source,
            nullable=True,
        )
        for entry in registry().undirected
        if entry.is_read_by("further")
    }
    for entry in registry().directed:
        for part, words in PARTS:
            columns[entry.column_name(part)] = column(
                f"{entry.description} {words.capitalize()}. {_mean_of_pieces(entry)}",
                unit=entry.unit,
                source=entry.source,
                nullable=True,
            )
        columns[f"{entry.name}_md_cd_ratio"] = column(
            f"{entry.description} MD over CD.", unit="1", nullable=True
        )
    return columns


def of_a_trial_point() -> dict[str, Any]:
    """Return the columns of one trial point: for each property the mean of its sheets and their spread."""
    columns: dict[str, Any] = {}
    for entry in registry().undirected:
        columns |= _mean_and_spread(entry, entry.description)
    for entry in registry().directed:
        for part, words in PARTS:
            columns |= _mean_and_spread(entry, f"{entry.description} {words.capitalize()}.", part)
        ratio = f"{entry.name}_md_cd_ratio"
        text = f"{entry.description} MD over CD."
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


def _mean_of_pieces(entry: Property) -> str:
    if entry.is_read_by("further"):
        return "Mean of the valid readings under the conditions that have most of them."
    if entry.has_basis:
        return (
            "Mean of the pieces' indices, each made with the sheet's mean grammage on the basis that "
            "grammage_basis names."
        )
    return "Mean of the valid test pieces."


def _mean_and_spread(entry: Property, text: str, *parts: str) -> dict[str, Any]:
    return {
        entry.column_name(*parts): column(
            f"{text} Mean over sheets.", unit=entry.unit, source=entry.source, nullable=True
        ),
        entry.column_name(*parts, "s"): column(
            f"{text} Sample standard deviation between sheets; missing for fewer than two.",
            unit=entry.unit,
            nullable=True,
        ),
    }
