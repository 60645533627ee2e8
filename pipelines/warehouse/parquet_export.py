"""Feeds for tools that open no DuckDB file or follow no pointer: Parquet files, and a place that never moves."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pyarrow
from pyarrow import parquet

from pipelines import __version__
from pipelines.dictionary.declared import Column, Table, published_tables

LATEST = "latest"
"""Folder of ``published/`` that holds the newest snapshot and its Parquet files under names that never change."""

_LATEST_SNAPSHOT = "sheetlore.duckdb"
_ROWS_AT_ONCE = 100_000
_OURS_IN_LATEST = {".duckdb", ".parquet", ".wal", ".unfinished"}


def parquet_folder(snapshot: Path) -> Path:
    """Return the folder of a snapshot's Parquet files."""
    return snapshot.with_suffix("")


def parquet_files(snapshot: Path) -> list[Path]:
    """Return a snapshot's Parquet files, one for each mart, whether or not they are there."""
    return [parquet_folder(snapshot) / f"{table.name}.parquet" for table in published_tables()]


def write_parquet(connection: duckdb.DuckDBPyConnection, database: str, folder: Path, night: str) -> None:
    """Write the marts of an attached database into a folder, a file each; the folder is there whole or not at all.

    A file says of itself, as key-value metadata, its ``table``, ``table_version``, ``description``, ``night`` and
    ``sheetlore_version``; each of its fields says its ``description`` and, where it has one, its ``unit`` (a UCUM
    code) and ``source``. Rows are read and written in batches, each a row group.
    """
    unfinished = folder.with_name(f"{folder.name}.parquet.unfinished")
    shutil.rmtree(unfinished, ignore_errors=True)
    unfinished.mkdir()
    for table in published_tables():
        batches = connection.execute(f"FROM {database}.{table.schema}.{table.name}").to_arrow_reader(
            _ROWS_AT_ONCE
        )
        schema = _described(batches.schema, table, night)
        with (unfinished / f"{table.name}.parquet").open("wb") as stream:
            with parquet.ParquetWriter(stream, schema, compression="zstd") as writer:
                for batch in batches:
                    writer.write_batch(pyarrow.RecordBatch.from_arrays(batch.columns, schema=schema))
            stream.flush()
            os.fsync(stream.fileno())
    # A try before this one may have got as far as this line.
    shutil.rmtree(folder, ignore_errors=True)
    unfinished.replace(folder)


def _described(schema: pyarrow.Schema, table: Table, night: str) -> pyarrow.Schema:
    """Return a table's schema with what is declared: what must not be missing, and what table and columns mean."""
    meanings = {
        "table": table.name,
        "table_version": str(table.version),
        "description": table.grain,
        "night": night,
        "sheetlore_version": __version__,
    }
    fields = [
        schema.field(column.name).with_nullable(column.nullable).with_metadata(_meaning(column))
        for column in table.columns
    ]
    return pyarrow.schema(fields, meanings)


def _meaning(column: Column) -> dict[str, str]:
    unit = None if column.unit == "UTC" else column.unit
    metadata = {"description": column.description, "unit": unit, "source": column.source}
    return {key: text for key, text in metadata.items() if text}


def update_latest_links(published: Path, snapshot: Path) -> list[str]:
    """Make ``latest/`` contain exactly a snapshot and its Parquet files, each replaced atomically.

    They are links, or copies if the file system has no links. Return a remark for each file that could not be
    replaced, for example because another program has it open; the next run tries again.
    """
    latest = published / LATEST
    latest.mkdir(exist_ok=True)
    newest = {latest / _LATEST_SNAPSHOT: snapshot}
    newest |= {latest / file.name: file for file in parquet_files(snapshot)}
    outdated = [path for path in latest.iterdir() if path.suffix in _OURS_IN_LATEST and path not in newest]
    return [*_removed(outdated), *_swapped(newest)]


def _removed(paths: list[Path]) -> Iterator[str]:
    for path in paths:
        try:
            path.unlink()
        except OSError as error:
            yield f"{LATEST}/{path.name} could not be removed ({error.strerror})"


def _swapped(newest: dict[Path, Path]) -> Iterator[str]:
    for place, file in newest.items():
        unfinished = place.with_suffix(f"{place.suffix}.unfinished")
        try:
            # Put in place of itself, a link would stay beside it.
            if not _is_same(place, file):
                unfinished.unlink(missing_ok=True)
                _link_or_copy(file, unfinished)
                unfinished.replace(place)
        except OSError as error:
            yield f"{LATEST}/{place.name} is still that of an older run ({error.strerror})"


def _is_same(place: Path, file: Path) -> bool:
    """Return whether a place holds a file: by a link, or as a copy with its size and time of change."""
    if not place.exists():
        return False
    one, other = place.stat(), file.stat()
    return (one.st_size, one.st_mtime_ns) == (other.st_size, other.st_mtime_ns)


def _link_or_copy(file: Path, place: Path) -> None:
    try:
        place.hardlink_to(file)
    except OSError:
        shutil.copy2(file, place)
