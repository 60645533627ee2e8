"""The only place that opens DuckDB."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

OFFLINE = {"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"}


MEMORY_LIMIT = "1500MB"
"""Memory of DuckDB for a run, so that all of a run stays under 2 GB; the rest of a large query goes to the disk."""


@contextmanager
def working(path: Path | str = ":memory:") -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a database to read and write; it is closed, and so checkpointed, on leaving."""
    config: dict[str, str | bool | int | float | list[str]] = {
        **OFFLINE,
        "memory_limit": MEMORY_LIMIT,
        "temp_directory": _spilled(),
    }
    connection = duckdb.connect(str(path), config=config)  # noqa: TID251
    try:
        connection.execute("SET TimeZone = 'UTC'")
        yield connection
    finally:
        connection.close()


@contextmanager
def reading(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a published snapshot: read-only, nothing outside it reachable, the configuration locked.

    What a large query cannot hold in memory goes to the system's place for temporary files, never beside the snapshot.
    """
    config: dict[str, str | bool | int | float | list[str]] = {**OFFLINE, "temp_directory": _spilled()}
    connection = duckdb.connect(str(path), read_only=True, config=config)  # noqa: TID251
    try:
        connection.execute("SET TimeZone = 'UTC'")
        connection.execute("SET enable_progress_bar = false")
        connection.execute("SET enable_external_access = false")
        connection.execute("SET lock_configuration = true")
        yield connection
    finally:
        connection.close()


@contextmanager
def transaction(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Do all of a block or, when it raises, nothing of it; raises duckdb.IOException when it cannot be written."""
    connection.begin()
    try:
        yield
    except BaseException:
        connection.rollback()
        raise
    try:
        connection.commit()
    except duckdb.TransactionException as error:
        # With one writer nothing but the storage can make a commit fail.
        raise duckdb.IOException(str(error)) from error


def _spilled() -> str:
    """Return the folder for what a large query cannot hold in memory; DuckDB makes it, and removes it at the end."""
    return str(Path(tempfile.gettempdir()) / f"sheetlore-{os.getpid()}")
