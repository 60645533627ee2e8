"""What a terminal shows: text from files as text, numbers short, results in each form."""

import pyarrow as pa
import pytest

from pipelines.errors import UsageError
from pipelines.terminal import as_json, as_text, plain, plain_lines


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (None, ""),
        ("", ""),
        (63.88947, "63.8895"),
        (1234567.0, "1.23457e+06"),
        (12345678, "12345678"),
        (True, "True"),
        ("two\nlines\tand a tab", "two·lines·and a tab"),
        ("\x1b[31mred", "·[31mred"),
        ("\u202eright to left", "·right to left"),
        ("[red]no markup[/red]", "[red]no markup[/red]"),
        ("µm 漢 é", "µm 漢 é"),
        ("\udcff", "·"),
    ],
)
def test_a_value_is_text_on_one_line(value, shown):
    text = plain(value)
    assert text.plain == shown
    assert text.spans == []


def test_a_message_keeps_its_lines():
    assert plain_lines("one\ntwo\x1b\n\nfour").plain == "one\ntwo·\n\nfour"


def test_a_result_with_one_empty_cell_is_a_line_of_csv_all_the_same():
    assert as_text(pa.table({"a": [None, "x"]}), "csv") == 'a\n""\nx\n'


def test_json_that_would_lose_a_column_is_refused():
    table = pa.Table.from_arrays([pa.array([1]), pa.array([2])], names=["a", "a"])
    with pytest.raises(UsageError, match="one name"):
        as_text(table, "json")
    assert as_text(table, "csv") == "a,a\n1,2\n"


def test_json_is_ascii_and_exact():
    assert as_json({"µ": [0.1, 2**70, None, True], "t": ("a", b"b")}) == (
        '{\n  "\\u00b5": [\n    0.1,\n    1180591620717411303424,\n    null,\n    true\n  ],\n'
        '  "t": [\n    "a",\n    "b\'b\'"\n  ]\n}\n'
    )


def test_a_bar_in_a_markdown_cell_is_no_border():
    text = as_text(pa.table({"a|b": ["c|d\ne\\"]}), "markdown")
    assert text == "| a\\|b |\n| --- |\n| c\\|d e\\\\ |\n"
