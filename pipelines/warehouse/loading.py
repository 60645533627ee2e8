"""Store records in the working warehouse, each row once; resolving duplicates sets its status in place."""

import duckdb
import pandas as pd

from pipelines.warehouse.statements import statement
from pipelines.warehouse.tables import ensure_table, quoted
from schemas.records import KINDS, STORED
from schemas.records.record import ResolvedRecord, key_of, values_of


def ensure_tables(connection: duckdb.DuckDBPyConnection) -> None:
    """Create the tables of records that are missing or are not as they are declared now.

    When the declaration of a kind changed, all its files are read again from the archive besides, because it
    is part of what they are read under.
    """
    for kind, model in STORED.items():
        ensure_table(connection, f"records.{kind}", model, ResolvedRecord)
    # Warehouses of earlier versions hold every record a second time, without its status.
    connection.execute("DROP SCHEMA IF EXISTS received CASCADE")


def delete_rows_of_files(connection: duckdb.DuckDBPyConnection, file_hashes: list[str]) -> None:
    """Delete the records of files, before the files are read again."""
    for kind in STORED:
        connection.execute(
            f"DELETE FROM records.{kind} WHERE list_contains(?::VARCHAR[], file_hash)", [file_hashes]
        )


def store(connection: duckdb.DuckDBPyConnection, kind: str, records: pd.DataFrame) -> None:
    """Append a batch of validated records of a kind, each with its key and the digest of its values.

    Their status is ``loaded`` until duplicates are resolved.
    """
    if records.empty:
        return
    model = STORED[kind]
    key = ", ".join(f"coalesce(replace({quoted(name)}::VARCHAR, '|', '||'), '')" for name in key_of(model))
    values = ", ".join(f"coalesce({quoted(name)}::VARCHAR, chr(30))" for name in values_of(model))
    connection.register("batch", records)
    try:
        connection.execute(
            f"INSERT INTO records.{kind} BY NAME "
            f"SELECT *, concat_ws(' | ', {key}) AS record_key, md5(concat_ws(chr(31), {values})) AS record_digest, "
            f"'loaded' AS record_status FROM {'batch' if model is KINDS[kind] else _folded(kind)}"
        )
    finally:
        connection.unregister("batch")


def _folded(kind: str) -> str:
    """Return the SQL that folds the rows of a batch into one stored record for each piece."""
    return f"({statement(f'records/fold_{kind}')})"
