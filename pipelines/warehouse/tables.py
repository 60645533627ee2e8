"""From a pandera model to a table: its DDL and its comments."""

import hashlib
from functools import cache

import duckdb
import pandera.pandas as pa

from pipelines.dictionary.declared import columns_of, described_columns
from schemas.records.record import grain_of


def quoted(identifier: str) -> str:
    """Quote an identifier for SQL."""
    return '"' + identifier.replace('"', '""') + '"'


def literal(text: str) -> str:
    """Quote a text for SQL where a parameter is not allowed, as in COMMENT ON."""
    return "'" + text.replace("'", "''") + "'"


def ensure_table(connection: duckdb.DuckDBPyConnection, table: str, *models: type[pa.DataFrameModel]) -> None:
    """Create a table unless it exists as its models declare it.

    A table with an older declaration keeps its rows in the columns that are still declared, so new columns must be
    nullable.
    """
    declared = {column.name: column.sql_type for column in described_columns(*models)}
    schema, _, name = table.partition(".")
    present = dict(
        connection.execute(
            "SELECT column_name, data_type FROM duckdb_columns() WHERE schema_name = ? AND table_name = ?",
            [schema, name],
        ).fetchall()
    )
    if present == declared:
        return
    connection.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")
    if present:
        connection.execute(f"CREATE OR REPLACE TEMP TABLE before AS FROM {table}")
    create_table(connection, table, *models)
    if present:
        kept = ", ".join(quoted(name) for name in declared if name in present)
        connection.execute(f"INSERT INTO {table} BY NAME SELECT {kept} FROM before")
        connection.execute("DROP TABLE before")


@cache
def fingerprint(*models: type[pa.DataFrameModel]) -> str:
    """Return a digest that changes when the declaration of a table does, or what it checks."""
    parts = [
        f"{name} {column.dtype} {column.nullable} {column.checks}"
        for name, column in columns_of(*models).items()
    ]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def create_table(connection: duckdb.DuckDBPyConnection, table: str, *models: type[pa.DataFrameModel]) -> None:
    """Create or replace a table (``schema.name``) as its models declare it, with its own comment."""
    body = ",\n".join(
        f"    {quoted(column.name)} {column.sql_type}{'' if column.nullable else ' NOT NULL'}"
        for column in described_columns(*models)
    )
    connection.execute(
        f"CREATE OR REPLACE TABLE {table} (\n{body}\n);\n"
        f"COMMENT ON TABLE {table} IS {literal(grain_of(models[0]))}"
    )


def comment_on_columns(
    connection: duckdb.DuckDBPyConnection, table: str, *models: type[pa.DataFrameModel]
) -> None:
    """Give each column of a table its comment; a snapshot needs them, the warehouse does not."""
    connection.execute(
        ";\n".join(
            f"COMMENT ON COLUMN {table}.{quoted(column.name)} IS {literal(column.comment)}"
            for column in described_columns(*models)
        )
    )
