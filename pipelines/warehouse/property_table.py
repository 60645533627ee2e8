"""The registry of properties in a database: a run stores it at its start, and a snapshot carries it on."""

import json

import duckdb

from pipelines.warehouse.tables import create_table
from schemas.marts.property import Property, row_of
from schemas.properties import Registry, shipped


def store_registry(connection: duckdb.DuckDBPyConnection, registry: Registry) -> None:
    """Write main.property, one row per entry."""
    create_table(connection, "main.property", Property)
    entries = json.loads(registry.text)
    rows = [{**row_of(entry), "entry": json.dumps(entries[name])} for name, entry in registry.items()]
    marks = ", ".join("?" for _ in rows[0])
    connection.executemany(
        f"INSERT INTO main.property ({', '.join(rows[0])}) VALUES ({marks})",
        [list(row.values()) for row in rows],
    )


def stored_registry(connection: duckdb.DuckDBPyConnection) -> Registry:
    """Return the registry that a database carries; that of the shipped files where it carries none."""
    present = connection.execute(
        "SELECT 1 FROM duckdb_tables() WHERE schema_name = 'main' AND table_name = 'property'"
    ).fetchone()
    if present is None:
        return shipped()
    rows = connection.execute("SELECT property, entry FROM main.property ORDER BY rowid").fetchall()
    return Registry.from_text(json.dumps({name: json.loads(entry) for name, entry in rows}))
