"""Questions to a published snapshot: what is held, what is unmatched, and any SQL."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import contextmanager
from datetime import date, datetime
from functools import partial
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import duckdb

from pipelines.errors import UsageError
from pipelines.warehouse import catalogue, hints
from pipelines.warehouse.connection import reading

if TYPE_CHECKING:  # pyarrow takes long to import, so the functions that need it import it themselves
    import pyarrow as pa
    from duckdb.sqltypes import DuckDBPyType

Result = TypeVar("Result")


def held_rows(snapshot: Path, closed: bool = False) -> list[dict[str, Any]]:
    """Return what is held, whole files first, then by file and line.

    What is held of a file that was replaced in the inbox or taken out of it is closed, and returned on demand.
    """
    with reading(snapshot) as connection:
        return _rows(
            connection,
            f"""
            FROM held_row
            WHERE {_SHOWN[closed]}
            ORDER BY line_number IS NOT NULL, file_name, file_hash, line_number, column_name
            """,
        )


def unmatched_tests(snapshot: Path, closed: bool = False) -> list[dict[str, Any]]:
    """Return the sheets that tests name and no forming log does, with how many tests wait for each."""
    with reading(snapshot) as connection:
        return _rows(
            connection,
            f"""
            SELECT
                sheet_id,
                any_value(suggested_sheet_id) AS suggested_sheet_id,
                any_value(suggestion_reason) AS suggestion_reason,
                count(*) AS tests,
                string_agg(DISTINCT kind, ', ' ORDER BY kind) AS kinds,
                arg_min(file.file_name, test.line_number) AS first_file_name,
                min(test.line_number) AS first_line_number
            FROM unmatched_test AS test
            INNER JOIN export_file AS file ON test.file_hash = file.file_hash
            WHERE {_SHOWN[closed]}
            GROUP BY sheet_id
            ORDER BY sheet_id
            """,
        )


def time_zone(snapshot: Path) -> str:
    """Return the laboratory's time zone, as the run that made the snapshot had it."""
    with reading(snapshot) as connection:
        return str(_rows(connection, "SELECT time_zone FROM setting")[0]["time_zone"])


_SHOWN = {False: "in_inbox", True: "TRUE"}
"""Condition for rows with or without the closed ones. A parameter would make DuckDB import pandas, a second of work."""


def _rows(connection: duckdb.DuckDBPyConnection, query: str) -> list[dict[str, Any]]:
    found = connection.execute(query)
    names = [column[0] for column in found.description or ()]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


BATCH_ROWS = 1_000
"""Rows of an answer that are in memory at once as values of Python."""

ARROW_BATCH_ROWS = 100_000
"""Rows of an answer that are in memory at once as columns of Arrow, and that make a row group of a Parquet file."""


class Answer:
    """The result of a query: its columns, and its rows, which can be read once, as values or as Arrow.

    Arrow takes long to import, and only a Parquet file and callers that want columns need it.
    """

    def __init__(
        self, connection: duckdb.DuckDBPyConnection, usage_error: Callable[[Exception], UsageError]
    ) -> None:
        """Take the result of the query that a connection executes; ``usage_error`` explains an error of DuckDB."""
        description = connection.description or []
        self.names: list[str] = [column[0] for column in description]
        self.types: list[DuckDBPyType] = [column[1] for column in description]
        self._connection = connection
        self._usage_error = usage_error

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """Return the rows, one after the other; raise UsageError for a date that Python does not have."""
        dates = [place for place, kind in enumerate(self.types) if re.search("DATE|TIMESTAMP", str(kind))]
        for batch in self._read(lambda: self._connection.fetchmany(BATCH_ROWS) or None):
            for place in dates:
                _check_dates(self.names[place], (row[place] for row in batch))
            yield from batch

    def first(self, count: int) -> tuple[list[tuple[Any, ...]], int]:
        """Return the first rows and how many there are in all."""
        rows = self.rows()
        first = list(islice(rows, count))
        return first, len(first) + sum(1 for _ in rows)

    def arrow(self) -> "pa.RecordBatchReader":
        """Return the rows as batches of Arrow."""
        import pyarrow as pa

        reader = self._do(lambda: self._connection.to_arrow_reader(ARROW_BATCH_ROWS))
        return pa.RecordBatchReader.from_batches(reader.schema, self._read(lambda: next(reader, None)))

    def _read(self, fetch: Callable[[], Result | None]) -> Iterator[Result]:
        """Return what ``fetch`` returns until that is None."""
        while (batch := self._do(fetch)) is not None:
            yield batch

    def _do(self, work: Callable[[], Result]) -> Result:
        """Do work that computes rows; report late errors like immediate ones."""
        try:
            return _interruptibly(self._connection, work)
        except (duckdb.Error, OSError) as error:
            raise self._usage_error(error) from None


_FIRST_AND_LAST = {date.min, date.max, datetime.min, datetime.max}  # noqa: DTZ901  # they have no zone
"""What DuckDB gives for an infinite date or time."""


def _check_dates(column: str, values: Iterable[object]) -> None:
    """Raise UsageError for a date or time that Python does not have; DuckDB gives its text, or the first or last."""
    if any(isinstance(value, str) or _has_infinity(value) for value in values):
        raise UsageError(
            f"A date or time in column {column} cannot be shown: it is infinite, or on or beyond the limits 0001-01-01 "
            "and 9999-12-31.",
            "Convert it to text in the query: column::VARCHAR",
        )


def _has_infinity(value: object) -> bool:
    if isinstance(value, dict):
        return any(map(_has_infinity, (*value, *value.values())))
    if isinstance(value, list | tuple):
        return any(map(_has_infinity, value))
    return isinstance(value, date) and value in _FIRST_AND_LAST


def ask(snapshot: Path, query: str, parameters: Mapping[str, object] | None = None) -> "pa.Table":
    """Run one SQL statement on a snapshot as ``answer`` does, and return all of its answer."""
    with reading(snapshot) as connection, answer(connection, query, parameters) as found:
        return found.arrow().read_all()


@contextmanager
def answer(
    connection: duckdb.DuckDBPyConnection, query: str, parameters: Mapping[str, object] | None = None
) -> Iterator[Answer]:
    """Run one SQL statement on a connection that ``reading`` opened; its rows are computed as they are read.

    On exit, unread rows are discarded: while DuckDB has rows left, the snapshot cannot be opened again.

    ``parameters`` are bound to the ``$name`` of the query. Ctrl-C interrupts the query and not the connection. Raise
    UsageError, here or while rows are read, with what is wrong with the query and what to do.
    """
    bound = dict(parameters or {})
    usage_error = partial(_usage_error, connection, query, bound)
    try:
        parsed = connection.extract_statements(query)
    except duckdb.Error as error:
        raise usage_error(error) from None
    if len(parsed) != 1:
        raise UsageError("Give exactly one SQL statement.")
    _check_parameters(parsed[0].named_parameters, bound)
    try:
        _interruptibly(connection, lambda: connection.execute(parsed[0], bound or None))
    except duckdb.Error as error:
        raise usage_error(error) from None
    yield Answer(connection, usage_error)


def _check_parameters(wanted: Collection[str], given: Mapping[str, object]) -> None:
    names = {name.lower() for name in given}
    for name in sorted(wanted):
        if name.lower() not in names:
            raise UsageError(f"The query has no value for ${name}.", f"Give it: --parameter {name}=VALUE")
    for name in given:
        if name.lower() not in {name.lower() for name in wanted}:
            known = ", ".join(f"${name}" for name in sorted(wanted))
            raise UsageError(
                f"A value is given for ${name}, which is not in the query.",
                f"Its parameters: {known}." if known else "It has no parameters.",
            )


def _interruptibly(connection: duckdb.DuckDBPyConnection, work: Callable[[], Result]) -> Result:
    """Do work in a second thread, because Python does not receive Ctrl-C while DuckDB computes in the main one."""
    with ThreadPoolExecutor(1) as beside:
        future = beside.submit(work)
        try:
            return future.result()
        except KeyboardInterrupt:
            # An interrupt between two steps of a query is lost, so it is repeated until the query ends.
            while not future.done():
                connection.interrupt()
                wait([future], timeout=0.1)
            raise


_LATE = "Invalid Input Error: Attempting to execute an unsuccessful or closed pending query result\nError: "
"""How DuckDB 1.5 begins the message of an error that comes while rows are fetched."""


def _usage_error(
    connection: duckdb.DuckDBPyConnection, query: str, parameters: Mapping[str, object], error: Exception
) -> UsageError:
    message = str(error).removeprefix(_LATE)
    if message.startswith("INTERRUPT"):  # Ctrl-C comes as KeyboardInterrupt
        message = _cause(connection, query, parameters) or message
    return UsageError(
        hints.without_suggestions(message),
        hints.hint(message, query, parameters, catalogue.read(connection.cursor())),
    )


def _cause(connection: duckdb.DuckDBPyConnection, query: str, parameters: Mapping[str, object]) -> str:
    """Return why a query fails, by computing all its rows again.

    When a query fails while its rows are read, DuckDB 1.5 in about one of a hundred cases only reports an interrupt.
    """
    try:
        _interruptibly(
            connection, lambda: connection.execute(f"EXPLAIN ANALYZE {query}", dict(parameters) or None)
        )
    except duckdb.Error as error:
        return str(error)
    return ""
