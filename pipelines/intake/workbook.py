"""Read a sheet of a workbook (xlsx) as lines of text, so that profiles read it as they read a CSV."""

import csv
import io
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any

from pipelines.intake.decoding import Lines
from pipelines.intake.rejection import RE_EXPORT, FileRejected

DELIMITER = "\t"
"""What separates the cells of a row in its line."""


_ENCODING = "xlsx"


def workbook_encoding(sheet: str | None) -> str:
    """Return what stands for the encoding of a workbook: that it is one, and the sheet that is read."""
    return f"{_ENCODING}:{sheet}" if sheet else _ENCODING


def lines_of_workbook(data: bytes, encoding: str | None) -> Lines | None:
    """Return the lines of a workbook read with this encoding, None for other files."""
    name, _, sheet = (encoding or "").partition(":")
    return read_sheet(data, sheet or None, None) if name == _ENCODING else None


def is_workbook(data: bytes) -> bool:
    """Return whether bytes are a workbook: a ZIP archive with the parts of one."""
    if not data.startswith(b"PK\x03\x04"):
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            return "xl/workbook.xml" in parts.namelist()
    except (zipfile.BadZipFile, OSError, ValueError):
        return False


def read_sheet(data: bytes, sheet: str | None, decimal: str | None) -> Lines:
    """Return the rows of a workbook's sheet as lines, by its name or else the first: row n is line n.

    Numbers have the decimal mark, times the form 2026-12-31 23:59:58, and a formula its last value. Raises FileRejected
    when the workbook cannot be read or has no such sheet.
    """
    from openpyxl import load_workbook  # loads slowly, and most files are text

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        names = book.sheetnames
        if sheet is not None and sheet not in names:
            raise FileRejected(
                "workbook",
                f"The workbook has no sheet {sheet!r}. It has: {', '.join(map(repr, names))}.",
                f"Correct dialect.sheet in the profile, or {RE_EXPORT}",
            )
        cells = book[sheet or names[0]]
        lines = [_line([_text(cell, decimal or ".") for cell in row]) for row in cells.iter_rows()]
    except FileRejected:
        raise
    except Exception as error:  # openpyxl raises errors of many kinds for damaged files
        raise FileRejected(
            "workbook",
            f"The workbook cannot be read ({type(error).__name__}: {error}).",
            f"Open and save it in a spreadsheet program, then {RE_EXPORT}",
        ) from None
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines:
        raise FileRejected(
            "empty_file", "The sheet is empty.", f"If tests were made, {RE_EXPORT} If not, remove the file."
        )
    return Lines(lines, True, DELIMITER)


def _line(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=DELIMITER, lineterminator="").writerow(cells)
    return out.getvalue()


def _text(cell: Any, decimal: str) -> str:
    """Return a cell as text on one line."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float):
        return (str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)).replace(
            ".", decimal
        )
    if isinstance(value, datetime):
        to_second = (value + timedelta(microseconds=500_000)).replace(microsecond=0)
        has_clock = "h" in (cell.number_format or "").lower() or to_second.time() != time()
        return f"{to_second:%Y-%m-%d %H:%M:%S}" if has_clock else f"{to_second:%Y-%m-%d}"
    if isinstance(value, date):
        return f"{value:%Y-%m-%d}"
    if isinstance(value, time):
        return f"{value:%H:%M:%S}"
    return " ".join(str(value).split())
