"""The declarations of the tables of a snapshot, read from their pandera models into plain values.

The DDL, the comments, the dictionary, the contract and the listing of published columns are generated from these.
"""

import inspect
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import pandera.pandas as pa

from pipelines.dictionary.history import changes, versions
from schemas.marts import marts
from schemas.properties import cached_by_registry
from schemas.records import STORED
from schemas.records.record import ResolvedRecord, grain_of

_SQL_TYPES = {
    "str": "VARCHAR",
    "float64": "DOUBLE",
    "int64": "BIGINT",
    "boolean": "BOOLEAN",
    "bool": "BOOLEAN",
    "datetime64": "TIMESTAMP",
    "object": "DOUBLE[]",
}

_LIMITS = {
    ("greater_than", "min_value"): "exclusiveMinimum",
    ("greater_than_or_equal_to", "min_value"): "minimum",
    ("less_than", "max_value"): "exclusiveMaximum",
    ("less_than_or_equal_to", "max_value"): "maximum",
    ("str_length", "min_value"): "minLength",
    ("str_length", "max_value"): "maxLength",
}
"""A check of pandera and its parameter -> the name of the limit in JSON Schema."""


@dataclass(frozen=True)
class Column:
    """A column as it is declared: ``unit`` is its UCUM code; ``limits`` use the names of JSON Schema."""

    name: str
    sql_type: str
    nullable: bool
    unit: str | None
    description: str
    source: str | None
    allowed: tuple[str, ...]
    limits: Mapping[str, float]

    @property
    def comment(self) -> str:
        """The column's comment in a database: description, unit and source."""
        unit = [] if self.unit in (None, "1", "UTC") else [f"Unit: {self.unit}."]
        source = [f"Source: {self.source}."] if self.source else []
        return " ".join([self.description, *unit, *source])


@dataclass(frozen=True)
class Table:
    """A table of the snapshot; ``grain`` says what one row is.

    ``rules`` are the checks across columns: a row that fails one is on hold. ``version`` counts the published versions
    of a table of schema ``main``; records have none.
    """

    schema: str
    name: str
    grain: str
    remark: str
    version: int | None
    columns: tuple[Column, ...]
    rules: tuple[str, ...]

    @property
    def full_name(self) -> str:
        """The name by which a query reaches the table: with its schema unless that is ``main``."""
        return self.name if self.schema == "main" else f"{self.schema}.{self.name}"


@dataclass(frozen=True)
class Formula:
    """A macro of the snapshot; ``parameters`` are those of its statement, with their defaults."""

    name: str
    parameters: tuple[str, ...]
    text: str
    source: str

    @property
    def signature(self) -> str:
        """The macro's call: name and parameters."""
        return f"{self.name}({', '.join(self.parameters)})"


@cached_by_registry
def published_tables() -> tuple[Table, ...]:
    """Return the tables of schema ``main`` of a snapshot, in build order."""
    known = versions(changes())
    return tuple(_table("main", name, known.get(name, 1), model) for name, model in marts().items())


@cache
def record_tables() -> tuple[Table, ...]:
    """Return the tables of schema ``records`` of a snapshot, in the order in which duplicates are resolved."""
    return tuple(_table("records", kind, None, model, ResolvedRecord) for kind, model in STORED.items())


def columns_of(*models: type[pa.DataFrameModel]) -> dict[str, pa.Column]:
    """Return the columns of one table that is declared by one or more models."""
    return {name: column for model in models for name, column in model.to_schema().columns.items()}


@cache
def described_columns(*models: type[pa.DataFrameModel]) -> tuple[Column, ...]:
    """Return the columns of one table as a database describes them."""
    return tuple(_column(name, column) for name, column in columns_of(*models).items())


def sql_type(column: pa.Column) -> str:
    """Return the DuckDB type of a declared column; raise TypeError for an unknown type."""
    name = str(column.dtype).lower()
    for start, sql in _SQL_TYPES.items():
        if name.startswith(start):
            return sql
    raise TypeError(f"column {column.name}: no SQL type for {name}")


def describe(column: pa.Column) -> str:
    """Return the comment of a declared column: description, unit and source."""
    return _column(str(column.name), column).comment


def _table(schema: str, name: str, version: int | None, *models: type[pa.DataFrameModel]) -> Table:
    grain = grain_of(models[0])
    text = inspect.cleandoc(models[0].__doc__ or "")
    return Table(
        schema=schema,
        name=name,
        grain=grain,
        remark=" ".join(text.removeprefix(grain).split()),
        version=version,
        columns=described_columns(*models),
        rules=tuple(str(check.error) for model in models for check in model.to_schema().checks),
    )


def _column(name: str, column: pa.Column) -> Column:
    metadata = column.metadata or {}
    allowed: tuple[str, ...] = ()
    limits = {}
    for check in column.checks:
        for parameter, value in check.statistics.items():
            if (check.name, parameter) == ("isin", "allowed_values"):
                allowed = tuple(value)
            elif value is not None:
                limits[_LIMITS[check.name, parameter]] = value
    return Column(
        name=name,
        sql_type=sql_type(column),
        nullable=column.nullable,
        unit=metadata.get("unit"),
        description=column.description or "",
        source=metadata.get("source"),
        allowed=allowed,
        limits=limits,
    )
