"""Resolve duplicates: which records count, which are repeated or superseded, and which contradict their sheet.

Set-based statements recompute every status from all rows received, so the order in which files arrive does not
matter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb

from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import create_table
from schemas.marts.setting import Setting
from schemas.marts.tester_accuracy import TesterAccuracy
from schemas.records import KINDS, STORED
from schemas.records.record import ResolvedRecord, time_of


@dataclass(frozen=True)
class Contradiction:
    """A stored record that contradicts other records, and so goes on hold."""

    kind: str
    file_hash: str
    line_number: int
    column: str
    rule: str
    what: str
    remedy: str


def set_setting(
    connection: duckdb.DuckDBPyConnection,
    values: dict[str, object],
    accuracies: Sequence[dict[str, object]] = (),
) -> None:
    """Write main.setting (one row) and main.tester_accuracy (one row per tester with an accuracy in lab.toml)."""
    create_table(connection, "main.setting", Setting)
    create_table(connection, "main.tester_accuracy", TesterAccuracy)
    for table, row in (("setting", values), *(("tester_accuracy", row) for row in accuracies)):
        names = ", ".join(row)
        marks = ", ".join("?" for _ in row)
        connection.execute(f"INSERT INTO main.{table} ({names}) VALUES ({marks})", list(row.values()))


def resolve_duplicates(connection: duckdb.DuckDBPyConnection) -> None:
    """Build records.<kind> from received.<kind> for every kind: every row received, with its record_status."""
    connection.execute("CREATE SCHEMA IF NOT EXISTS records")
    for kind, model in STORED.items():
        create_table(connection, f"records.{kind}", model, ResolvedRecord)
        connection.execute(
            f"INSERT INTO records.{kind} BY NAME {statement('records/resolve_duplicates').format(kind=kind)}"
        )


def disagreeing_layers(connection: duckdb.DuckDBPyConnection) -> list[Contradiction]:
    """Return the loaded forming records of sheets whose layers belong to more than one trial point."""
    rows = connection.execute(f"{statement('records/disagreeing_layers')} ORDER BY ALL").fetchall()
    remedy = (
        "Give all layers of the sheet the same trial and trial point in the forming log, and re-export it under the "
        "same name; the next run imports it."
    )
    return [
        Contradiction("forming", file_hash, line, "trial_point", "disagreeing_layers", what, remedy)
        for file_hash, line, what in rows
    ]


def dated_too_early(connection: duckdb.DuckDBPyConnection) -> list[Contradiction]:
    """Return the loaded records that are dated before the forming of their sheet."""
    remedy = (
        "Check the date, the time zone and the sheet number, here and in the forming log. Correct and re-export under "
        "the same name; every run checks again."
    )
    found = []
    for kind, model in KINDS.items():
        time = time_of(model)
        if kind == "forming" or time is None or "sheet_id" not in model.to_schema().columns:
            continue
        query = statement("records/dated_before_forming").format(kind=kind, time=time)
        found += [
            Contradiction(
                kind, file_hash, line, time.removesuffix("_utc"), "dated_before_forming", what, remedy
            )
            for file_hash, line, what in connection.execute(f"{query} ORDER BY ALL").fetchall()
        ]
    return found


def hold(connection: duckdb.DuckDBPyConnection, kinds: set[str]) -> None:
    """Put on hold the records of these kinds that ledger.cross_record_rejection lists."""
    for kind in sorted(kinds):
        connection.execute(statement("records/hold").format(kind=kind))
