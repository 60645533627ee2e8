"""Queries of the notebook on a snapshot."""

import threading
from collections.abc import Mapping
from pathlib import Path

import polars as pl

from pipelines.errors import UsageError
from pipelines.warehouse.querying import ask

_TURN = threading.Lock()


def query_frame(snapshot: Path, query: str, parameters: Mapping[str, object] | None = None) -> pl.DataFrame:
    """Run one SQL statement on a snapshot, read-only and without access to anything outside it.

    The readers of one server are threads of one process, which can open a snapshot once at a time; they take turns.
    Raises UsageError that says what is wrong with the query and what to do about it.
    """
    with _TURN:
        table = ask(snapshot, query, parameters)
    try:
        return pl.DataFrame(table)
    except (pl.exceptions.PolarsError, TypeError, ValueError) as error:
        raise UsageError(
            f"The answer cannot be shown as a table: {error}",
            "Give every column its own name, and cast types other than numbers, texts and times to text: "
            "column::VARCHAR",
        ) from None
