"""Workbooks (xlsx): a sheet is read as a table of text by the profiles that read a CSV."""

import io
from datetime import date, datetime, time

import openpyxl
import pytest
from intake_cases import THICKNESS, held, ingest_one, profile

from pipelines.intake.inbox import archive_bytes, archived_lines
from pipelines.intake.workbook import is_workbook, read_sheet

ROWS = [
    ["Series 5"],
    ["Sheet", "Place", "Thickness", "Note"],
    ["A", 1, 90.5, None],
    [],
    ["B", 2.0, "91,5", 'x "y"\nz'],
]
IN_WORKBOOK = THICKNESS.replace("preamble = 0", "preamble = 1")


def workbook(rows, title="Results") -> bytes:
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    book.create_sheet("Other").append(["nothing"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("dialect", ["", 'sheet = "Results"\n'])
def test_a_sheet_is_read_by_the_profile_of_a_csv(dialect):
    used = profile(IN_WORKBOOK.replace("[dialect]\n", f"[dialect]\n{dialect}"))
    outcome, frame = ingest_one(workbook(ROWS), used, name="a.xlsx")
    assert held(outcome) == []
    assert frame[["line_number", "sheet_id", "position_no", "thickness_um"]].to_numpy().tolist() == [
        [3, "A", 1, 90.5],
        [5, "B", 2, 91.5],
    ]
    assert frame["note"].tolist()[1] == 'x "y" z'
    counts = {name: count for name, count in vars(outcome.account).items() if count}
    assert counts == {"lines": 5, "preamble": 1, "header": 1, "blank": 1, "stored": 2}
    assert outcome.encoding == ("xlsx:Results" if dialect else "xlsx")


def test_a_faulty_cell_of_a_workbook_is_on_hold_with_its_row():
    outcome, _ = ingest_one(workbook([*ROWS, ["C", 3, -1]]), profile(IN_WORKBOOK))
    assert held(outcome) == [(6, "range")]
    assert outcome.rejections[0].original_text.startswith("C\t3\t-1")


def test_numbers_of_a_workbook_need_no_decimal_mark_in_the_profile():
    used = profile(IN_WORKBOOK.replace('decimal = ","\n', ""))
    _, frame = ingest_one(workbook([*ROWS[:3], ["B", 2, 1.234]]), used)
    assert frame["thickness_um"].tolist() == [90.5, 1.234]


def test_times_are_texts_of_one_form():
    cells = [
        datetime(2026, 10, 1, 10, 0, 0, 999_999),
        datetime(2026, 10, 1),
        date(2026, 10, 1),
        time(9, 5),
        True,
    ]
    (line,) = read_sheet(workbook([cells]), None, None).text
    assert line.split("\t") == [
        "2026-10-01 10:00:01",
        "2026-10-01 00:00:00",
        "2026-10-01",
        "09:05:00",
        "TRUE",
    ]


def test_a_workbook_without_the_sheet_says_which_it_has():
    used = profile(IN_WORKBOOK.replace("[dialect]\n", '[dialect]\nsheet = "Pulls"\n'))
    outcome, _ = ingest_one(workbook(ROWS), used)
    assert held(outcome) == [(None, "no_profile")]
    assert "the workbook has no sheet 'Pulls'. It has: 'Results', 'Other'" in outcome.rejections[0].what


def test_a_damaged_workbook_is_on_hold():
    data = workbook(ROWS)
    place = data.index(b"xl/worksheets/sheet1.xml") + 60
    outcome, _ = ingest_one(data[:place] + b"damaged" + data[place + 7 :], profile(IN_WORKBOOK))
    assert held(outcome) == [(None, "no_profile")]
    assert "the workbook cannot be read" in outcome.rejections[0].what


def test_another_archive_is_no_workbook():
    assert not is_workbook(b"PK\x03\x04" + b"x" * 100)


def test_an_archived_workbook_gives_the_text_of_a_line(tmp_path):
    archive_bytes(tmp_path, "ab", workbook(ROWS))
    assert archived_lines(tmp_path, "ab", [3], "xlsx:Results") == {3: "A\t1\t90.5\t"}
