"""The tables of the ledger: which files were received, how each was read, why lines are on hold, and the runs."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

import duckdb
import pandas as pd

from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import create_table, ensure_table
from schemas.ledger.curve_result import CurveResult
from schemas.ledger.in_inbox import InInbox
from schemas.ledger.reason import HeldReason
from schemas.ledger.received_file import ReceivedFile
from schemas.ledger.sighting import Sighting
from schemas.marts.night import Night

Rows = Iterable[dict[str, object]]
"""Rows of a table as dictionaries by column name."""

TABLES = {
    "received_file": ReceivedFile,
    "reason": HeldReason,
    "cross_record_rejection": HeldReason,
    "sighting": Sighting,
    "night": Night,
    "curve_result": CurveResult,
    "in_inbox": InInbox,
}


def ensure_tables(connection: duckdb.DuckDBPyConnection) -> None:
    """Create the tables that are missing or are not as they are declared now."""
    for name, model in TABLES.items():
        ensure_table(connection, f"ledger.{name}", model)
    # Runs of earlier versions have no number; their rows stand in the order in which they ran.
    connection.execute(
        """
        UPDATE ledger.night AS run
        SET run_no = numbered.run_no
        FROM (SELECT night, row_number() OVER (ORDER BY rowid) AS run_no FROM ledger.night) AS numbered
        WHERE run.night = numbered.night AND run.run_no IS NULL
        """
    )


def sightings(connection: duckdb.DuckDBPyConnection) -> dict[tuple[str, int, int], str]:
    """Return the content hash of each inbox file seen before, by name, size in bytes and mtime in ns."""
    rows = connection.execute(
        "SELECT file_name, size_bytes, changed_ns, file_hash FROM ledger.sighting"
    ).fetchall()
    return {(name, size, changed_ns): file_hash for name, size, changed_ns, file_hash in rows}


def received_files(connection: duckdb.DuckDBPyConnection) -> set[str]:
    """Return the content hashes of all files received."""
    return {row[0] for row in connection.execute("SELECT file_hash FROM ledger.received_file").fetchall()}


def encodings(connection: duckdb.DuckDBPyConnection) -> dict[str, str | None]:
    """Return the encoding of each file received, by content hash."""
    return dict(connection.execute("SELECT file_hash, encoding FROM ledger.received_file").fetchall())


def add_received(connection: duckdb.DuckDBPyConnection, files: Rows, seen: Rows) -> None:
    """Add files received for the first time, and the names, sizes and times under which files were seen."""
    _insert(connection, "received_file", files)
    _insert(connection, "sighting", seen)


def set_in_inbox(connection: duckdb.DuckDBPyConnection, file_hashes: set[str]) -> bool:
    """Store which files are in the inbox; return whether they differ from those of the last run."""
    before = {row[0] for row in connection.execute("SELECT file_hash FROM ledger.in_inbox").fetchall()}
    if before == file_hashes:
        return False
    connection.execute("DELETE FROM ledger.in_inbox")
    _insert(connection, "in_inbox", ({"file_hash": file_hash} for file_hash in sorted(file_hashes)))
    return True


def set_earliest_mtime(connection: duckdb.DuckDBPyConnection, dated: list[tuple[str, datetime]]) -> int:
    """Date files (content hash, time of change in UTC) by their oldest copy; return how many changed.

    The order in which copies arrive then does not affect which of two exports is newer.
    """
    hashes, times = [file_hash for file_hash, _ in dated], [changed_at_utc for _, changed_at_utc in dated]
    (changed,) = connection.execute(
        """
        UPDATE ledger.received_file AS file
        SET changed_at_utc = copies.oldest
        FROM (
            SELECT file_hash, min(changed_at_utc) AS oldest
            FROM (SELECT unnest($1::VARCHAR[]) AS file_hash, unnest($2::TIMESTAMP[]) AS changed_at_utc)
            GROUP BY file_hash
        ) AS copies
        WHERE file.file_hash = copies.file_hash AND file.changed_at_utc > copies.oldest
        """,
        [hashes, times],
    ).fetchall()[0]
    return int(changed)


def read_files(connection: duckdb.DuckDBPyConnection) -> list[tuple[str, str | None, str | None, bool]]:
    """Return the files that are read: content hash, profile, ``read_under``, and whether the file is on hold."""
    return connection.execute(
        "SELECT file_hash, profile, read_under, held_whole FROM ledger.received_file WHERE read_night IS NOT NULL"
    ).fetchall()


def mark_unread(connection: duckdb.DuckDBPyConnection, file_hashes: list[str]) -> None:
    """Let the run read these files again."""
    connection.execute(
        "UPDATE ledger.received_file SET read_night = NULL WHERE list_contains(?::VARCHAR[], file_hash)",
        [file_hashes],
    )


def unread_files(connection: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    """Return the rows of the files to read, the oldest first."""
    rows: list[dict[str, Any]] = (
        connection.execute(
            "FROM ledger.received_file WHERE read_night IS NULL ORDER BY changed_at_utc, file_name, file_hash"
        )
        .to_arrow_table()
        .to_pylist()
    )
    return rows


def delete_reasons(connection: duckdb.DuckDBPyConnection, file_hashes: list[str]) -> None:
    """Delete why files and their lines are on hold, before the files are read again."""
    connection.execute(
        "DELETE FROM ledger.reason WHERE list_contains(?::VARCHAR[], file_hash)", [file_hashes]
    )


def set_read(connection: duckdb.DuckDBPyConnection, files: list[dict[str, object]], reasons: Rows) -> None:
    """Replace the rows of files that were read, and add why they or their lines are on hold."""
    connection.execute(
        "DELETE FROM ledger.received_file WHERE list_contains(?::VARCHAR[], file_hash)",
        [[file["file_hash"] for file in files]],
    )
    _insert(connection, "received_file", files)
    _insert(connection, "reason", reasons)


def delete_contradictions(connection: duckdb.DuckDBPyConnection) -> None:
    """Delete why records contradict others of their sheet; every run finds all of them anew."""
    connection.execute("DELETE FROM ledger.cross_record_rejection")


def add_contradictions(connection: duckdb.DuckDBPyConnection, reasons: Rows) -> None:
    """Add why records contradict others of their sheet."""
    _insert(connection, "cross_record_rejection", reasons)


def last_built_under(connection: duckdb.DuckDBPyConnection) -> str | None:
    """Return the fingerprint under which the last run built the tables; None before the first run."""
    row = connection.execute("SELECT built_under FROM ledger.night ORDER BY run_no DESC LIMIT 1").fetchone()
    return row[0] if row else None


def runs(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Return the names of the runs that changed something, in order."""
    return [row[0] for row in connection.execute("SELECT night FROM ledger.night ORDER BY run_no").fetchall()]


def add_run(connection: duckdb.DuckDBPyConnection, run: dict[str, object]) -> None:
    """Add the row of this run, with what the warehouse holds after it, and publish the rows of all runs.

    ``run`` has the parameters of sql/records/night.sql. When the step is tried again, the row is replaced.
    """
    connection.execute("DELETE FROM ledger.night WHERE night = $night", {"night": run["night"]})
    connection.execute(f"INSERT INTO ledger.night BY NAME {statement('records/night')}", run)
    create_table(connection, "main.night", Night)
    connection.execute("INSERT INTO main.night BY NAME SELECT * FROM ledger.night")


def _insert(connection: duckdb.DuckDBPyConnection, table: str, rows: Rows) -> None:
    batch = pd.DataFrame(list(rows))
    if batch.empty:
        return
    connection.register("batch", batch)
    try:
        connection.execute(f"INSERT INTO ledger.{table} BY NAME SELECT * FROM batch")
    finally:
        connection.unregister("batch")
