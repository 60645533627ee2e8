"""Resolve duplicates: which records count, which are repeated or superseded, and which contradict their sheet.

Set-based statements recompute every status from all records, so the order in which files arrive does not
matter.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb

from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import create_table, quoted
from schemas.marts.setting import Setting
from schemas.marts.tester_accuracy import TesterAccuracy
from schemas.records import KINDS, STORED
from schemas.records.record import time_of, values_of


@dataclass(frozen=True)
class Contradiction:
    """A stored record that contradicts other records, and so goes on hold."""

    kind: str
    file_hash: str
    line_number: int
    record_key: str
    column: str | None
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
    """Set ``record_status`` and ``superseded_by`` of every stored record."""
    for kind in STORED:
        connection.execute(statement("records/resolve_duplicates").format(kind=kind))


def disagreeing_layers(connection: duckdb.DuckDBPyConnection) -> list[Contradiction]:
    """Return the loaded forming records of sheets whose layers belong to more than one trial point."""
    rows = connection.execute(f"{statement('records/disagreeing_layers')} ORDER BY ALL").fetchall()
    remedy = (
        "Give all layers of the sheet the same trial and trial point in the forming log, and re-export it under the "
        "same name; the next run imports it."
    )
    return [
        Contradiction("forming", file_hash, line, key, "trial_point", "disagreeing_layers", what, remedy)
        for file_hash, line, key, what in rows
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
                kind, file_hash, line, key, time.removesuffix("_utc"), "dated_before_forming", what, remedy
            )
            for file_hash, line, key, what in connection.execute(f"{query} ORDER BY ALL").fetchall()
        ]
    return found


def contradicting_files(connection: duckdb.DuckDBPyConnection) -> list[Contradiction]:
    """Return the records that contradict a record of another file of the same time."""
    remedy = (
        "Export only the correct value, under the same name as the wrong file; the next run imports it. If one is a "
        "retest, give it its own time or replicate number. To show which file is newer, let the profile read the time "
        "of the export (exported_at)."
    )
    return [
        Contradiction(kind, file_hash, line, key, None, "contradicting_files", what, remedy)
        for kind in STORED
        for file_hash, line, key, what in connection.execute(
            statement("records/contradicting_files").format(kind=kind)
        ).fetchall()
    ]


def same_test_elsewhere(connection: duckdb.DuckDBPyConnection) -> list[Contradiction]:
    """Return the records that a later export has again under another sheet number or direction."""
    remedy = (
        "If the later export corrects this line, correct it in this file too and re-export it under the same name, or "
        "remove the file from the inbox. If both are tests, export their times to the second."
    )
    found = []
    for kind, model in STORED.items():
        time, names = time_of(model), values_of(model)
        if time is None or not {"tester", "sheet_id"} <= set(names):
            continue
        columns = model.to_schema().columns
        numbers = [quoted(name) for name in names if str(columns[name].dtype) == "float64"]
        query = statement("records/same_test_elsewhere").format(
            kind=kind,
            time=time,
            direction="record.direction" if "direction" in names else "NULL",
            alike=", ".join(
                f"record.{quoted(name)}" for name in names if name not in ("sheet_id", "direction")
            ),
            numbers=" + ".join(f"(record.{name} IS NOT NULL)::INTEGER" for name in numbers)
            if STORED[kind] is KINDS[kind]
            else "record.n_points",
        )
        found += [
            Contradiction(kind, file_hash, line, key, "sheet_id", "same_test_elsewhere", what, remedy)
            for file_hash, line, key, what in connection.execute(query).fetchall()
        ]
    return found


CONTRADICTIONS = (contradicting_files, same_test_elsewhere, disagreeing_layers, dated_too_early)
"""What finds records that contradict others, in the order in which it runs."""


def hold(connection: duckdb.DuckDBPyConnection, found: Sequence[Contradiction]) -> None:
    """Put contradicting records on hold."""
    for kind in sorted({record.kind for record in found}):
        records = [record for record in found if record.kind == kind]
        connection.execute(
            statement("records/hold").format(kind=kind),
            {
                "file_hashes": [record.file_hash for record in records],
                "record_keys": [record.record_key for record in records],
            },
        )
