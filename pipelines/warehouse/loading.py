"""Putting what the intake found into the working warehouse: records as received, and the ledger of files."""

from collections.abc import Iterable
from datetime import datetime

import duckdb
import pandas as pd

from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import ensure_table, quoted
from schemas.ledger.curve_result import CurveResult
from schemas.ledger.in_inbox import InInbox
from schemas.ledger.reason import HeldReason
from schemas.ledger.received_file import ReceivedFile
from schemas.ledger.sighting import Sighting
from schemas.marts.night import Night
from schemas.records import KINDS, STORED
from schemas.records.record import IdentifiedRecord, key_of, values_of


def ensure_tables(connection: duckdb.DuckDBPyConnection) -> None:
    """Make the tables that the intake writes where they are not there yet, or not as they are declared now.

    When the declaration of a kind changed, all its files are read again from the archive besides, because it
    is part of what they are read under.
    """
    ensure_table(connection, "ledger.received_file", ReceivedFile)
    ensure_table(connection, "ledger.reason", HeldReason)
    ensure_table(connection, "ledger.cross_record_rejection", HeldReason)
    ensure_table(connection, "ledger.sighting", Sighting)
    ensure_table(connection, "ledger.night", Night)
    ensure_table(connection, "ledger.curve_result", CurveResult)
    ensure_table(connection, "ledger.in_inbox", InInbox)
    for kind, model in STORED.items():
        ensure_table(connection, f"received.{kind}", model, IdentifiedRecord)


def delete_rows_of_files(connection: duckdb.DuckDBPyConnection, file_hashes: list[str]) -> None:
    """Remove what earlier runs took from files, before they are read again."""
    for table in ("ledger.reason", *(f"received.{kind}" for kind in KINDS)):
        connection.execute(
            f"DELETE FROM {table} WHERE file_hash IN (SELECT unnest(?::VARCHAR[]))", [file_hashes]
        )


def store(connection: duckdb.DuckDBPyConnection, kind: str, records: pd.DataFrame) -> None:
    """Append a batch of validated records of a kind, each with its key and the digest of its values."""
    if records.empty:
        return
    model = STORED[kind]
    key = ", ".join(f"coalesce(replace({quoted(name)}::VARCHAR, '|', '||'), '')" for name in key_of(model))
    values = ", ".join(f"coalesce({quoted(name)}::VARCHAR, chr(30))" for name in values_of(model))
    source = (
        f"SELECT *, concat_ws(' | ', {key}) AS record_key, md5(concat_ws(chr(31), {values})) AS record_digest "
        f"FROM {'batch' if model is KINDS[kind] else _folded(kind)}"
    )
    _insert(connection, f"received.{kind}", records, source)


def _folded(kind: str) -> str:
    """Return the SQL that folds the rows of a batch into one stored record for each piece."""
    return f"({statement(f'records/fold_{kind}')})"


def replace_files(connection: duckdb.DuckDBPyConnection, rows: list[dict[str, object]]) -> None:
    """Replace the ledger's rows of files."""
    connection.execute(
        "DELETE FROM ledger.received_file WHERE list_contains(?::VARCHAR[], file_hash)",
        [[row["file_hash"] for row in rows]],
    )
    insert(connection, "ledger.received_file", rows)


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


def set_in_inbox(connection: duckdb.DuckDBPyConnection, file_hashes: set[str]) -> bool:
    """Store which files are in the inbox; return whether they differ from those of the last run."""
    before = {
        file_hash for (file_hash,) in connection.execute("SELECT file_hash FROM ledger.in_inbox").fetchall()
    }
    if before == file_hashes:
        return False
    connection.execute("DELETE FROM ledger.in_inbox")
    insert(connection, "ledger.in_inbox", ({"file_hash": file_hash} for file_hash in sorted(file_hashes)))
    return True


def insert(connection: duckdb.DuckDBPyConnection, table: str, rows: Iterable[dict[str, object]]) -> None:
    """Append rows, given as dictionaries by column name, to a table of the ledger."""
    frame = pd.DataFrame(list(rows))
    if not frame.empty:
        _insert(connection, table, frame, "SELECT * FROM batch")


def _insert(connection: duckdb.DuckDBPyConnection, table: str, frame: pd.DataFrame, source: str) -> None:
    connection.register("batch", frame)
    try:
        connection.execute(f"INSERT INTO {table} BY NAME {source}")
    finally:
        connection.unregister("batch")
