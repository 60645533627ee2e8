"""The text of a query, looked at without running it."""

import pytest

from pipelines.warehouse.query_text import (
    is_complete,
    parameter,
    statements,
    table_behind,
    tables_named,
    tokens,
)

TABLES = ("sheet", "test_piece", "records.tensile", "tensile_curve_result")


@pytest.mark.parametrize(
    "text",
    [
        "SELECT 1;",
        "SELECT ';' ; -- done",
        "SELECT $$ a;b $$;",
        'SELECT "a;b" FROM t;',
        "µ;",
        "/* ; */ SELECT 1\n;\n",
    ],
)
def test_a_text_is_complete_with_its_semicolon(text):
    assert is_complete(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "SELECT 1",
        "SELECT ';",
        "SELECT 1 -- ;",
        "SELECT /* ;",
        "SELECT ';'",
        'SELECT "a;',
        "SELECT 1; SELECT",
    ],
)
def test_a_semicolon_within_quotes_or_a_comment_completes_nothing(text):
    assert not is_complete(text)


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("", []),
        (" ; ; -- nothing\n", []),
        ("SELECT 1", ["SELECT 1"]),
        ("SELECT ';';", ["SELECT ';'"]),
        ("SELECT 'µ;é'; FROM sheet ;", ["SELECT 'µ;é'", "FROM sheet"]),
        ("SELECT 1; -- done\n", ["SELECT 1"]),
    ],
)
def test_statements_are_divided_at_their_semicolons(text, parts):
    assert statements(text) == parts


def test_tokens_are_words_and_signs_without_comments():
    assert tokens("SELECT a.\"b c\", 'it''s' -- why\nFROM t") == [
        "SELECT",
        "a",
        ".",
        '"b c"',
        ",",
        "'it''s'",
        "FROM",
        "t",
    ]


@pytest.mark.parametrize(
    ("query", "named"),
    [
        ("SELECT * FROM Sheet JOIN test_piece USING (sheet_id)", ["sheet", "test_piece"]),
        ("FROM records.tensile", ["records.tensile"]),
        ("FROM tensile", []),
        ('FROM "sheet"', ["sheet"]),
        ("SELECT 'sheet' -- sheet", []),
        ("SELECT sheet.sheet_id FROM sheet", ["sheet"]),
    ],
)
def test_the_tables_that_a_query_names(query, named):
    assert tables_named(query, TABLES) == named


@pytest.mark.parametrize(
    ("query", "name", "table"),
    [
        ("SELECT s. FROM sheet AS s", "s", "sheet"),
        ("SELECT S. FROM sheet s JOIN test_piece p", "S", "sheet"),
        ("SELECT p. FROM sheet s JOIN test_piece p", "p", "test_piece"),
        ("SELECT t. FROM records.tensile t", "t", "records.tensile"),
        ("SELECT sheet. FROM sheet", "sheet", "sheet"),
        ("SELECT x. FROM sheet s", "x", None),
        ("x", "x", None),
    ],
)
def test_the_table_behind_a_name(query, name, table):
    assert table_behind(query, name, TABLES) == table


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("n=7", 7), ("n=-7", -7), ("n=+0.5", 0.5), ("n=1e3", 1000.0), ("n=0", 0), ("n=007", "007"),
        ("n=1_000", "1_000"),
        ("n=nan", "nan"), ("n=", ""), ("n='7'", "7"), ("n='", "'"), ("n=a=b", "a=b"), ("n=2026-10-01", "2026-10-01"),
        ("n= 7", " 7"), ("n=0x1F", "0x1F"),
    ],
)  # fmt: skip
def test_a_parameter_is_a_number_where_it_reads_as_one(text, value):
    name, found = parameter(text)
    assert name == "n"
    assert (found, type(found)) == (value, type(value))


@pytest.mark.parametrize("text", ["", "n", "=7", "a b=7", "$n=7"])
def test_a_parameter_has_a_name(text):
    with pytest.raises(ValueError, match=r".*"):
        parameter(text)
