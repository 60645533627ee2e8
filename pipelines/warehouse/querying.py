"""Questions to a published snapshot: what is held, what is unmatched, and any SQL."""

from collections.abc import Callable, Collection, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import duckdb

from pipelines.errors import UsageError
from pipelines.warehouse import catalogue, hints
from pipelines.warehouse.connection import reading

if TYPE_CHECKING:  # pyarrow takes long to import, so the functions that need it import it themselves
    import pyarrow as pa

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


BATCH_ROWS = 100_000
"""Rows that are in memory at once while an answer is read, and that make a row group of a Parquet file."""

SLICE_ROWS = 1_000
"""Rows that are Python's values at once, which take far more memory than columns do."""


@dataclass(frozen=True)
class Answer:
    """What a query gave: its columns, and its rows in batches, which can be read once."""

    schema: "pa.Schema"
    batches: "Iterator[pa.RecordBatch]"

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """Return the rows, one after the other."""
        for batch in self.batches:
            yield from _rows_of(batch)

    def first(self, count: int) -> tuple[list[tuple[Any, ...]], int]:
        """Return the first rows and how many there are in all."""
        rows: list[tuple[Any, ...]] = []
        total = 0
        for batch in self.batches:
            rows.extend(_rows_of(batch.slice(0, count - len(rows))))
            total += batch.num_rows
        return rows, total

    def table(self) -> "pa.Table":
        """Return all of it in memory."""
        import pyarrow as pa

        return pa.Table.from_batches(self.batches, self.schema)


def _rows_of(batch: "pa.RecordBatch") -> Iterator[tuple[Any, ...]]:
    for start in range(0, batch.num_rows, SLICE_ROWS):
        part = batch.slice(start, SLICE_ROWS)
        try:
            yield from zip(*(column.to_pylist() for column in part.columns), strict=True)
        except (OverflowError, ValueError) as error:  # a date that is infinite, or after the year 9999
            raise UsageError(
                f"A value of the answer cannot be shown: {error}",
                "Convert it to text in the query: column::VARCHAR",
            ) from None


def ask(snapshot: Path, query: str, parameters: Mapping[str, object] | None = None) -> "pa.Table":
    """Run one SQL statement on a snapshot as ``answer`` does, and return all of its answer."""
    with reading(snapshot) as connection, answer(connection, query, parameters) as found:
        return found.table()


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
        reader = _interruptibly(
            connection, lambda: connection.execute(parsed[0], bound or None).to_arrow_reader(BATCH_ROWS)
        )
    except duckdb.Error as error:
        raise usage_error(error) from None
    with closing(reader):
        yield Answer(reader.schema, _batches(connection, reader, usage_error))


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


def _batches(
    connection: duckdb.DuckDBPyConnection,
    reader: "pa.RecordBatchReader",
    usage_error: Callable[[Exception], UsageError],
) -> "Iterator[pa.RecordBatch]":
    """Return the batches of a reader; report late errors like immediate ones."""
    import pyarrow as pa

    while True:
        try:
            batch = _interruptibly(connection, lambda: next(reader, None))
        except (duckdb.Error, OSError, pa.ArrowException) as error:
            raise usage_error(error) from None
        if batch is None:
            return
        yield batch


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


def _usage_error(
    connection: duckdb.DuckDBPyConnection, query: str, parameters: Mapping[str, object], error: Exception
) -> UsageError:
    message = str(error)
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
