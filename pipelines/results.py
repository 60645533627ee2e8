"""Writing the result of a query as text or Parquet, row by row, never all in memory."""

import csv
import io
import json
import math
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from pipelines.errors import UsageError

if TYPE_CHECKING:  # the commands need the forms before, and often without, any answer
    from pipelines.warehouse.querying import Answer

MEASURED_ROWS = 10_000
"""Rows that set the widths of a table's columns; a longer cell further down widens its own line."""


class Form(StrEnum):
    """The format of a query's result."""

    table = "table"
    csv = "csv"
    json = "json"
    markdown = "markdown"
    parquet = "parquet"
    xlsx = "xlsx"


BINARY = (Form.parquet, Form.xlsx)
"""Formats that are written to a file only."""

FORM_OF_SUFFIX = {
    ".txt": Form.table,
    ".csv": Form.csv,
    ".json": Form.json,
    ".md": Form.markdown,
    ".parquet": Form.parquet,
    ".xlsx": Form.xlsx,
}


def form_of(path: Path) -> Form:
    """Return the format of a file name's ending; raises UsageError for an unknown one."""
    try:
        return FORM_OF_SUFFIX[path.suffix.lower()]
    except KeyError:
        raise UsageError(
            f"Unknown file format: {path}",
            f"Give --format, or a file name that ends in {', '.join(FORM_OF_SUFFIX)}",
        ) from None


@contextmanager
def opened(path: Path | None) -> Iterator[BinaryIO]:
    """Open a file to write, or standard output; the file appears only once it is complete."""
    if path is None:
        sys.stdout.flush()
        yield sys.stdout.buffer
        sys.stdout.buffer.flush()
        return
    path = path.resolve()
    if not path.parent.is_dir():
        raise UsageError(f"Folder not found: {path.parent}", "Create it, or choose another folder.")
    if path.exists() and not path.is_file():  # such as a pipe
        with path.open("wb") as stream:
            yield stream
        return
    unfinished = path.with_name(f"{path.name}.unfinished")
    try:
        with unfinished.open("wb") as stream:
            yield stream
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)


def write(answer: "Answer", form: Form, stream: BinaryIO) -> None:
    """Write a result as table, CSV, JSON, Markdown (all UTF-8) or Parquet.

    Raises UsageError when two columns of a JSON result have the same name, and when the query fails.
    """
    if form is Form.parquet:
        _write_parquet(answer, stream)
        return
    lines = {
        Form.table: _table_lines,
        Form.csv: _csv_lines,
        Form.json: _json_lines,
        Form.markdown: _markdown_lines,
    }[form](answer)
    for line in lines:
        stream.write(line.encode())


def _write_parquet(answer: "Answer", stream: BinaryIO) -> None:
    from pyarrow import parquet

    with (
        answer.arrow() as batches,
        parquet.ParquetWriter(stream, batches.schema, compression="zstd") as writer,
    ):
        for batch in batches:
            writer.write_batch(batch)


def _csv_lines(answer: "Answer") -> Iterator[str]:
    """Return lines after RFC 4180: quoted where necessary, ended by CR and LF."""
    for row in chain([answer.names], answer.rows()):
        line = io.StringIO()
        csv.writer(line, lineterminator="\r\n").writerow("" if value is None else str(value) for value in row)
        yield line.getvalue()


def _markdown_lines(answer: "Answer") -> Iterator[str]:
    yield _markdown_line(answer.names)
    yield _markdown_line(["---"] * len(answer.names))
    for row in answer.rows():
        yield _markdown_line("" if value is None else str(value) for value in row)


def _markdown_line(cells: Iterable[str]) -> str:
    return "| " + " | ".join(map(_in_markdown, cells)) + " |\n"


def _in_markdown(cell: str) -> str:
    plain_text = " ".join(cell.split()).replace("\\", "\\\\").replace("|", "\\|")
    return plain_text.replace("&", "&amp;").replace("<", "&lt;")


def _json_lines(answer: "Answer") -> Iterator[str]:
    names = answer.names
    if len(set(names)) < len(names):
        raise UsageError("Two columns of the result have the same name.", "Rename one: SELECT … AS name")
    before = "[\n  "
    for row in answer.rows():
        values = {name: for_json(value) for name, value in zip(names, row, strict=True)}
        yield before + json.dumps(values, allow_nan=False)
        before = ",\n  "
    yield "[]\n" if before.startswith("[") else "\n]\n"


def as_json(value: object) -> str:
    """Return values as JSON in ASCII, which every stream can carry; NaN and infinity are null."""
    return json.dumps(for_json(value), indent=2, allow_nan=False) + "\n"


def for_json(value: object) -> object:
    """Return a value as JSON: times as ISO 8601, NaN and infinity as null."""
    match value:
        case dict():
            return {str(key): for_json(entry) for key, entry in value.items()}
        case list() | tuple():
            return [for_json(entry) for entry in value]
        case Decimal():  # sums of integers are Decimal, too
            return int(value) if value == value.to_integral_value() else float(value)
        case float():
            return value if math.isfinite(value) else None
        case None | bool() | int() | str():
            return value
        case datetime() | date() | time():
            return value.isoformat()
        case _:
            return str(value)


def readable(value: object) -> str:
    """Return a value as text on one line, with control characters made visible."""
    text = "" if value is None else f"{value:.6g}" if isinstance(value, float) else str(value)
    return text if text.isprintable() else "".join(sign if sign.isprintable() else "·" for sign in text)


NUMERIC = {
    *("tinyint", "smallint", "integer", "bigint", "hugeint"),
    *("utinyint", "usmallint", "uinteger", "ubigint", "uhugeint"),
    *("float", "double", "decimal", "bignum"),
}
"""DuckDB's types of numbers, which a table aligns at the right."""


def _table_lines(answer: "Answer") -> Iterator[str]:
    rows = (tuple(map(readable, row)) for row in answer.rows())
    return table(answer, list(islice(rows, MEASURED_ROWS)), rows)


def table(
    answer: "Answer", measured: Sequence[Sequence[str]], further: Iterable[Sequence[str]] = ()
) -> Iterator[str]:
    """Return the lines of a table of an answer's cells, as wide as its names and its ``measured`` rows need."""
    from rich.cells import cell_len

    names = [readable(name) for name in answer.names]
    widths = [max(map(cell_len, cells)) for cells in zip(names, *measured, strict=True)]
    numeric = [kind.id in NUMERIC for kind in answer.types]
    for cells in chain([names, ["-" * width for width in widths]], measured, further):
        padded = (
            " " * (width - cell_len(cell)) + cell if right else cell + " " * (width - cell_len(cell))
            for cell, width, right in zip(cells, widths, numeric, strict=True)
        )
        yield "  ".join(padded).rstrip(" ") + "\n"
