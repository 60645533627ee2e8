"""Settling which records count: repeats, supersession, and records that contradict their sheet.

Everything is told anew from all rows received, by set-based statements, so that it comes out the same in
whatever order files arrived.
"""

from dataclasses import dataclass

import duckdb

from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import create_table
from schemas.marts.setting import Setting
from schemas.records import KINDS
from schemas.records.record import SettledRecord, time_of


@dataclass(frozen=True)
class DatedTooEarly:
    """A record that is dated before its sheet was formed."""

    kind: str
    file_hash: str
    line_number: int
    column: str
    cell: str
    what: str


def set_setting(connection: duckdb.DuckDBPyConnection, values: dict[str, object]) -> None:
    """Write the one row of main.setting."""
    create_table(connection, "main.setting", Setting)
    names = ", ".join(values)
    marks = ", ".join("?" for _ in values)
    connection.execute(f"INSERT INTO main.setting ({names}) VALUES ({marks})", list(values.values()))


def settle(connection: duckdb.DuckDBPyConnection) -> None:
    """Build records.<kind> from received.<kind> for every kind: each row received, with its fate."""
    connection.execute("CREATE SCHEMA IF NOT EXISTS records")
    for kind, model in KINDS.items():
        create_table(connection, f"records.{kind}", model, SettledRecord)
        connection.execute(
            f"INSERT INTO records.{kind} BY NAME {statement('records/settle').format(kind=kind)}"
        )


def dated_too_early(connection: duckdb.DuckDBPyConnection) -> list[DatedTooEarly]:
    """Return the loaded records that are dated before their sheet was formed."""
    found = []
    for kind, model in KINDS.items():
        time = time_of(model)
        if kind == "forming" or time is None or "sheet_id" not in model.to_schema().columns:
            continue
        query = statement("records/dated_before_forming").format(kind=kind, time=time)
        rows = connection.execute(f"{query} ORDER BY ALL").fetchall()
        found += [
            DatedTooEarly(kind, file_hash, line, time, cell, what) for file_hash, line, cell, what in rows
        ]
    return found


def hold(connection: duckdb.DuckDBPyConnection, kinds: set[str]) -> None:
    """Mark as held the records of some kinds that ledger.later_reason names."""
    for kind in sorted(kinds):
        connection.execute(statement("records/hold").format(kind=kind))
