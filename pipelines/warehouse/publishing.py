"""Publishing: a read-only snapshot beside the old ones, and a pointer to it that is replaced atomically.

The files of a run are the snapshot ``sheetlore-<night>.duckdb`` and the folder ``sheetlore-<night>/`` of its Parquet
files. The snapshot gets its name last, so a snapshot that exists is complete.
"""

import json
import os
import shutil
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb

from pipelines import __version__
from pipelines.dictionary.documents import CONTRACT
from pipelines.errors import SheetloreError
from pipelines.warehouse import building, parquet_export
from pipelines.warehouse.connection import reading, transaction
from pipelines.warehouse.pointer import POINTER, PREFIX, latest_snapshot, night_of
from pipelines.warehouse.tables import comment_on_columns, create_table, literal, quoted
from schemas.marts import marts
from schemas.records import STORED
from schemas.records.record import ResolvedRecord

STORAGE_VERSION = "v1.2.0"
"""Storage version of snapshots: readable by every DuckDB from 1.2 on."""


def write_snapshot(connection: duckdb.DuckDBPyConnection, published: Path, night: str) -> Path:
    """Write what readers may see into a new snapshot; it counts only once ``point_to`` names it.

    It holds the marts (schema main), the records (schema records), the macros, and every comment. The folder of
    its Parquet files is written first.
    """
    published.mkdir(parents=True, exist_ok=True)
    path = published / f"{PREFIX}{night}.duckdb"
    unfinished = path.with_suffix(".unfinished")
    unfinished.unlink(missing_ok=True)
    connection.execute(f"ATTACH {literal(str(unfinished))} AS snapshot (STORAGE_VERSION '{STORAGE_VERSION}')")
    try:
        # One transaction: hundreds of comments, each written through by itself, would take seconds.
        with transaction(connection):
            _fill_snapshot(connection)
        connection.execute("CHECKPOINT snapshot")
        parquet_export.write_parquet(connection, "snapshot", parquet_export.parquet_folder(path), night)
    finally:
        connection.execute("DETACH DATABASE IF EXISTS snapshot")
    unfinished.replace(path)
    return path


def _fill_snapshot(connection: duckdb.DuckDBPyConnection) -> None:
    working = connection.execute("SELECT current_database()").fetchall()[0][0]
    for mart, model in marts().items():
        create_table(connection, f"snapshot.main.{mart}", model)
        comment_on_columns(connection, f"snapshot.main.{mart}", model)
        connection.execute(f"INSERT INTO snapshot.main.{mart} BY NAME SELECT * FROM main.{mart}")
    connection.execute("CREATE SCHEMA snapshot.records")
    for kind, model in STORED.items():
        create_table(connection, f"snapshot.records.{kind}", model, ResolvedRecord)
        comment_on_columns(connection, f"snapshot.records.{kind}", model, ResolvedRecord)
        connection.execute(f"INSERT INTO snapshot.records.{kind} BY NAME SELECT * FROM records.{kind}")
    connection.execute("USE snapshot")
    building.create_macros(connection)
    connection.execute(f"USE {quoted(working)}")


def point_to(published: Path, snapshot: Path, checked_at_utc: datetime) -> None:
    """Let the pointer name a snapshot and what belongs to it, whole or not at all.

    Every name is relative to the folder, so that it may be moved.
    """
    pointer = published / POINTER
    unfinished = pointer.with_suffix(".unfinished")
    content = {
        "snapshot": snapshot.name,
        "checked_at_utc": checked_at_utc.isoformat(timespec="seconds"),
        "night": night_of(snapshot),
        "storage_version": STORAGE_VERSION,
        "sheetlore_version": __version__,
        "parquet_folder": parquet_export.parquet_folder(snapshot).name,
        "parquet_files": [file.name for file in parquet_export.parquet_files(snapshot)],
    }
    if (published / CONTRACT).is_file():
        content["contract"] = CONTRACT
    with unfinished.open("w", encoding="utf-8") as stream:
        json.dump(content, stream, indent=2)
        stream.flush()
        os.fsync(stream.fileno())
    unfinished.replace(pointer)


def remove_old(published: Path, current: Path, kept: int, runs: Sequence[str]) -> None:
    """Remove all snapshots but the current one and the newest before it, with their Parquet files.

    ``runs`` are the names of the runs in order. A snapshot of none of them, of a warehouse before this one, is older.
    """
    place = {name: number for number, name in enumerate(runs)}
    others = sorted(
        (path for path in published.glob(f"{PREFIX}*.duckdb") if path != current),
        key=lambda path: (place.get(night_of(path), -1), path.name),
    )
    for old in others[: max(0, len(others) + 1 - kept)]:
        old.unlink(missing_ok=True)
    _remove_folders_alone(published)


def clear_unfinished(published: Path) -> None:
    """Remove the unfinished files of a run that failed or was killed."""
    for left in [*published.glob("*.unfinished*"), *(published / parquet_export.LATEST).glob("*.unfinished")]:
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)
    _remove_folders_alone(published)


def _remove_folders_alone(published: Path) -> None:
    """Remove the Parquet folders whose snapshot is not there: it was removed, or never came to be."""
    for folder in published.glob(f"{PREFIX}*/"):
        if not folder.with_name(f"{folder.name}.duckdb").exists():
            shutil.rmtree(folder, ignore_errors=True)


def has_snapshot(published: Path) -> bool:
    """Return whether the pointer names a snapshot that is there with all its Parquet files."""
    try:
        snapshot = latest_snapshot(published)
    except SheetloreError:
        return False
    return all(file.is_file() for file in parquet_export.parquet_files(snapshot))


def summary(snapshot: Path) -> tuple[dict[str, Any], list[str]]:
    """Return the last run's row of ``night``, and a sentence for each overdrawn tank filling, in local time."""
    with reading(snapshot) as connection:
        night = connection.execute("FROM night ORDER BY run_no DESC LIMIT 1").to_arrow_table().to_pylist()[0]
        overdrawn = connection.execute(
            """
            SELECT
                'Tank ' || tank || ', filled ' || local_minute(filled_at_utc, (SELECT time_zone FROM setting)) || ': '
                || round(drawn_l, 1) || ' L drawn of ' || round(filled_l, 1) || ' L filled.'
            FROM tank_fill
            WHERE overdrawn_l > 0
            ORDER BY filled_at_utc, tank
            """
        ).fetchall()
    return night, [sentence for (sentence,) in overdrawn]
