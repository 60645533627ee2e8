"""Results as spreadsheets, read back with another library."""

import io
from datetime import date, datetime

import openpyxl
import pyarrow as pa
import pytest
from openpyxl.utils.escape import unescape

from pipelines import spreadsheet
from pipelines.errors import UsageError
from pipelines.warehouse.connection import reading, working
from pipelines.warehouse.querying import answer


def book_of(table: pa.Table, query: str = "") -> openpyxl.Workbook:
    stream = io.BytesIO()
    with working() as connection:
        connection.register("given", table)
        with answer(connection, "FROM given") as found:
            spreadsheet.write(found, query, stream)
    return openpyxl.load_workbook(stream)


@pytest.mark.parametrize(
    "text",
    ["=1+1", "{=1+1}", "+1", "@x", "-1", "https://lab.invalid/x", "file:///x", "mailto:a@lab.invalid", "007", "1e5",
     " spaces ", "two\nlines", "<b>&", "_x0041_", "µ€漢 𝛼", "", "'quoted'"],
)  # fmt: skip
def test_text_stays_text(text):
    cell = book_of(pa.table({"a": [text]}))["result"]["A2"]
    assert unescape(cell.value or "") == text
    assert cell.data_type in ("s", "inlineStr", "n" if text == "" else "s")
    assert cell.hyperlink is None


def test_numbers_dates_and_booleans_keep_their_types():
    table = pa.table(
        {
            "whole": [7],
            "real": [0.1 + 0.2],
            "sure": [True],
            "day": [date(2026, 10, 1)],
            "at": [datetime(2026, 10, 1, 7, 30)],
            "sum": pa.array([12], pa.decimal128(38, 0)),
            "zoned": pa.array([datetime(2026, 10, 1, 7, 30)], pa.timestamp("us", "UTC")),
        }
    )
    row = book_of(table)["result"][2]
    assert [cell.value for cell in row[:3]] == [7, pytest.approx(0.3, rel=1e-15), True]
    assert [cell.data_type for cell in row] == ["n", "n", "b", "d", "d", "n", "d"]
    assert row[3].value == datetime(2026, 10, 1)
    assert row[4].value == row[6].value == datetime(2026, 10, 1, 7, 30)
    assert row[5].value == 12


def test_values_that_a_spreadsheet_cannot_represent_are_text_or_empty():
    table = pa.table(
        {
            "large": [2**60],
            "nan": [float("nan")],
            "infinite": [float("-inf")],
            "old": [date(1850, 1, 2)],
            "none": [None],
        }
    )
    row = book_of(table)["result"][2]
    assert [cell.value for cell in row[:4]] == [str(2**60), None, None, "1850-01-02"]


def test_the_header_stays_in_sight_and_filters():
    sheet = book_of(pa.table({"a": [1, 2], "b": [3, 4]}))["result"]
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:B3"
    assert [cell.value for cell in sheet[1]] == ["a", "b"]


def test_columns_of_the_tables_asked_are_explained(demo_night):
    query = "SELECT sheet_id, grammage_g_m2, 1 AS own FROM sheet"
    stream = io.BytesIO()
    with reading(demo_night.snapshot) as connection, answer(connection, query) as found:
        spreadsheet.write(found, query, stream)
    book = openpyxl.load_workbook(stream)
    assert book["result"].max_row == 61
    header, *rows = book["columns"].iter_rows(values_only=True)
    assert header == ("column", "table", "meaning", "unit", "source")
    meanings = {name: (table, unit) for name, table, _, unit, _ in rows}
    assert meanings == {"sheet_id": ("sheet", ""), "grammage_g_m2": ("sheet", "g/m2")}
    assert all(meaning for _, _, meaning, _, _ in rows)


@pytest.mark.parametrize(
    ("table", "what"),
    [
        (pa.table({"n": pa.nulls(6)}), "more than 4 rows"),
        (pa.table({f"c{number}": [1] for number in range(8)}), "8 columns"),
        (pa.table({"t": ["x" * 40_000]}), "40,000 characters"),
    ],
)
def test_results_too_large_for_a_spreadsheet_are_refused_with_an_alternative(monkeypatch, table, what):
    monkeypatch.setattr(spreadsheet, "LAST_ROW", 5)
    monkeypatch.setattr(spreadsheet, "LAST_COLUMN", 7)
    with pytest.raises(UsageError, match=f"{what}[\\s\\S]*--format csv"):
        book_of(table)


def test_the_limits_are_those_of_the_format():
    """From memory: 2^20 rows, 2^14 columns, a text of less than 2^15 characters."""
    assert (spreadsheet.LAST_ROW, spreadsheet.LAST_COLUMN, spreadsheet.LONGEST_TEXT) == (
        2**20,
        2**14,
        2**15 - 1,
    )
