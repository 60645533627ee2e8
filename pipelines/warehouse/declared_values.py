"""Holding published tables to what their columns declare: ranges and allowed values, as the contract promises them."""

from collections.abc import Iterator

import duckdb
import pandas as pd

from pipelines.dictionary.declared import Column, Table, published_tables
from pipelines.dictionary.wording import limits_text
from pipelines.warehouse.tables import literal, quoted

_CONDITIONS = {
    "exclusiveMinimum": "{column} > {limit:.17g}",
    "minimum": "{column} >= {limit:.17g}",
    "exclusiveMaximum": "{column} < {limit:.17g}",
    "maximum": "{column} <= {limit:.17g}",
    "minLength": "length({column}) >= {limit}",
    "maxLength": "length({column}) <= {limit}",
}
"""Name of a limit in JSON Schema -> what must hold of every value that is not missing."""


def undeclared_values(connection: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """Return one row per column of a published table with values outside its declaration.

    Columns: ``table_name``, ``column_name``, ``declared`` (the range or the allowed values) and ``n_rows``. Table
    ``night`` is left out: its row is written after the checks.
    """
    tables = [table for table in published_tables() if table.name != "night"]
    found = [row for table in tables for row in _of_table(connection, table)]
    return pd.DataFrame(found, columns=["table_name", "column_name", "declared", "n_rows"])


def _of_table(connection: duckdb.DuckDBPyConnection, table: Table) -> Iterator[tuple[str, str, str, int]]:
    limited = [(column, condition) for column in table.columns if (condition := _condition(column))]
    if not limited:
        return
    counts = ", ".join(f"count(*) FILTER (WHERE NOT ({condition}))" for _, condition in limited)
    row = connection.execute(f"SELECT {counts} FROM main.{table.name}").fetchall()[0]
    for (column, _), n_rows in zip(limited, row, strict=True):
        if n_rows:
            yield table.name, column.name, ", ".join(column.allowed) or limits_text(column), n_rows


def _condition(column: Column) -> str:
    """Return what must hold of a column's values as SQL, empty where nothing is declared."""
    name = quoted(column.name)
    parts = [_CONDITIONS[limit].format(column=name, limit=value) for limit, value in column.limits.items()]
    if column.allowed:
        parts.append(f"{name} IN ({', '.join(map(literal, column.allowed))})")
    return " AND ".join(parts)
