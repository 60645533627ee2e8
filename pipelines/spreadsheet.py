"""Writing the result of a query as a spreadsheet: numbers and times as such, text as text, and the columns' meaning."""

import math
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import BinaryIO

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from pipelines.dictionary.declared import published_tables, record_tables
from pipelines.errors import UsageError
from pipelines.warehouse.query_text import tables_named
from pipelines.warehouse.querying import Answer

LAST_ROW = 1_048_576
LAST_COLUMN = 16_384
LONGEST_TEXT = 32_767
EXACT_DIGITS = 15
"""Limits of a spreadsheet, in which numbers are doubles. From memory."""

FIRST_YEAR = 1900
"""Earlier dates are written as text; a spreadsheet has none."""


def write(answer: Answer, query: str, stream: BinaryIO) -> None:
    """Write a result to the sheet «result», and the meaning of its columns to the sheet «columns».

    NaN and infinity, which a spreadsheet lacks, are empty cells. Raises UsageError when the result does not fit.
    """
    if len(answer.names) > LAST_COLUMN:
        raise _too_large(f"{len(answer.names):,} columns", f"{LAST_COLUMN:,}")
    with tempfile.TemporaryDirectory() as rows_so_far:
        options = {
            "constant_memory": True,
            "tmpdir": rows_so_far,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
            "remove_timezone": True,  # it is UTC
        }
        book = xlsxwriter.Workbook(stream, options)
        bold = book.add_format({"bold": True})
        formats = {
            datetime: book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"}),
            date: book.add_format({"num_format": "yyyy-mm-dd"}),
        }
        sheet = book.add_worksheet("result")
        last = _fill(sheet, answer.names, answer.rows(), bold, formats)
        sheet.autofilter(0, 0, last, len(answer.names) - 1)
        meanings = book.add_worksheet("columns")
        _fill(
            meanings,
            ("column", "table", "meaning", "unit", "source"),
            _meanings(answer.names, query),
            bold,
            formats,
        )
        book.close()


def _fill(
    sheet: Worksheet,
    names: Sequence[str],
    rows: Iterator[Sequence[object]],
    bold: Format,
    formats: Mapping[type[date], Format],
) -> int:
    """Write a fixed header and the rows below it; return the index of the last row."""
    sheet.freeze_panes(1, 0)
    for place, name in enumerate(names):
        sheet.set_column(place, place, max(10, min(len(name) + 4, 60)))
        sheet.write_string(0, place, name, bold)
    line = 0
    for line, row in enumerate(rows, start=1):
        if line >= LAST_ROW:
            raise _too_large(f"more than {LAST_ROW - 1:,} rows", f"{LAST_ROW - 1:,} below its header")
        for place, value in enumerate(row):
            _write(sheet, line, place, value, formats)
    return line


def _write(
    sheet: Worksheet, line: int, place: int, value: object, formats: Mapping[type[date], Format]
) -> None:
    match value:
        case None:
            pass
        case bool():
            sheet.write_boolean(line, place, value)
        case int() | Decimal() if abs(value) < 10**EXACT_DIGITS:
            sheet.write_number(line, place, value)
        case float():
            if math.isfinite(value):
                sheet.write_number(line, place, value)
        case datetime() | date() if value.year >= FIRST_YEAR:
            sheet.write_datetime(
                line, place, value, formats[datetime if isinstance(value, datetime) else date]
            )
        case _:
            text = str(value)
            if len(text) > LONGEST_TEXT:
                raise _too_large(f"a text of {len(text):,} characters", f"{LONGEST_TEXT:,} in a cell")
            sheet.write_string(line, place, text)


def _meanings(names: Sequence[str], query: str) -> Iterator[tuple[str, str, str, str, str]]:
    """Return the meaning of each column that has the name of a column of the tables in the query."""
    declared = {table.full_name: table for table in (*published_tables(), *record_tables())}
    asked = tables_named(query, declared)
    for name in names:
        for table in asked:
            for column in declared[table].columns:
                if column.name == name:
                    yield name, table, column.description, column.unit or "", column.source or ""


def _too_large(what: str, limit: str) -> UsageError:
    return UsageError(
        f"The result has {what}; a spreadsheet holds {limit}.",
        "Select less, or use --format csv or parquet.",
    )
