"""Results of queries in each format: exact, complete, and written row by row."""

import io
import json
import os
import stat

import pyarrow as pa
import pytest

from pipelines import results
from pipelines.errors import UsageError
from pipelines.results import Form, as_json
from pipelines.warehouse.connection import working
from pipelines.warehouse.querying import answer


def written(table: pa.Table, form: Form, query: str = "FROM given") -> str:
    stream = io.BytesIO()
    with working() as connection:
        connection.register("given", table)
        with answer(connection, query) as found:
            results.write(found, form, stream)
    return stream.getvalue().decode()


def test_csv_is_as_rfc_4180_has_it():
    table = pa.table({"a, b": ["x", 'say "no"', "two\nlines", None, "µ€"], "n": [1.5, None, 0.1, 3, 4]})
    assert written(table, Form.csv) == (
        '"a, b",n\r\nx,1.5\r\n"say ""no""",\r\n"two\nlines",0.1\r\n,3.0\r\nµ€,4.0\r\n'
    )


def test_a_result_with_one_empty_cell_is_a_line_of_csv_all_the_same():
    assert written(pa.table({"a": [None, "x"]}), Form.csv) == 'a\r\n""\r\nx\r\n'


def test_json_that_would_lose_a_column_is_refused():
    table, twice = pa.table({"a": [1], "b": [2]}), "SELECT a, b AS a FROM given"
    with pytest.raises(UsageError, match="the same name"):
        written(table, Form.json, twice)
    assert written(table, Form.csv, twice) == "a,a\r\n1,2\r\n"


def test_json_is_ascii_and_exact():
    assert as_json({"µ": [0.1, 2**70, None, True], "t": ("a", b"b")}) == (
        '{\n  "\\u00b5": [\n    0.1,\n    1180591620717411303424,\n    null,\n    true\n  ],\n'
        '  "t": [\n    "a",\n    "b\'b\'"\n  ]\n}\n'
    )


@pytest.mark.parametrize("count", [0, 1, 3])
def test_rows_as_json_are_one_valid_document(count):
    table = pa.table({"n": pa.array(range(count), pa.int64())})
    assert json.loads(written(table, Form.json)) == [{"n": number} for number in range(count)]


def test_a_bar_in_a_markdown_cell_is_no_border():
    text = written(pa.table({"a|b": ["c|d\ne\\"]}), Form.markdown)
    assert text == "| a\\|b |\n| --- |\n| c\\|d e\\\\ |\n"


def test_a_table_has_numbers_at_the_right_and_text_at_the_left():
    table = pa.table({"name": ["a", "漢字", None], "value": [1.23456789, 100.0, None]})
    assert written(table, Form.table) == (
        "name    value\n"
        "----  -------\n"
        "a     1.23457\n"
        "漢字      100\n"
        "\n"
    )  # fmt: skip


def test_a_longer_cell_far_down_is_not_cut(monkeypatch):
    monkeypatch.setattr(results, "MEASURED_ROWS", 1)
    assert written(pa.table({"a": ["x", "longer"], "b": [1, 2]}), Form.table).splitlines()[-1] == "longer  2"


@pytest.mark.parametrize(
    ("name", "form"),
    [("a.csv", Form.csv), ("a.b.JSON", Form.json), ("a.md", Form.markdown), ("a.parquet", Form.parquet),
     ("a.xlsx", Form.xlsx), ("a.txt", Form.table)],
)  # fmt: skip
def test_the_file_name_gives_the_format(tmp_path, name, form):
    assert results.form_of(tmp_path / name) is form


@pytest.mark.parametrize("name", ["a", "a.xls", "csv", ".csv"])
def test_a_file_name_without_a_known_format_is_refused(tmp_path, name):
    with pytest.raises(UsageError, match=r"Unknown file format[\s\S]*\.csv"):
        results.form_of(tmp_path / name)


def test_a_file_appears_when_it_is_whole(tmp_path):
    path = tmp_path / "out.csv"
    path.write_text("the older one")
    with pytest.raises(UsageError), results.opened(path) as stream:
        stream.write(b"half")
        raise UsageError("the query failed")
    assert path.read_text() == "the older one"
    with results.opened(path) as stream:
        stream.write(b"all")
        assert path.read_text() == "the older one"
    assert path.read_text() == "all"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_is_followed_and_a_pipe_written_into(tmp_path):
    (tmp_path / "link").symlink_to(tmp_path / "real")
    with results.opened(tmp_path / "link") as stream:
        stream.write(b"x")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"x"
    os.mkfifo(tmp_path / "pipe")
    reader = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    with results.opened(tmp_path / "pipe") as stream:
        stream.write(b"x")
    assert os.read(reader, 9) == b"x"
    os.close(reader)
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)
