"""What the notebook asks of a snapshot."""

import threading
from collections.abc import Mapping
from pathlib import Path

import polars as pl

from pipelines.errors import UsageError
from pipelines.warehouse.querying import ask

_TURN = threading.Lock()


def answered(snapshot: Path, query: str, parameters: Mapping[str, object] | None = None) -> pl.DataFrame:
    """Run one SQL statement on a snapshot, read-only and with nothing outside it reachable.

    The readers of one server are threads of one process, in which a snapshot is open once at a time: they take turns.
    Raises UsageError that says what is wrong with the query and what to do about it.
    """
    with _TURN:
        table = ask(snapshot, query, parameters)
    try:
        return pl.DataFrame(table)
    except (pl.exceptions.PolarsError, TypeError, ValueError) as error:
        raise UsageError(
            f"The answer cannot be shown as a table: {error}",
            "Give every column a name of its own, and turn what is neither number, text nor time into text: "
            "column::VARCHAR",
        ) from None
