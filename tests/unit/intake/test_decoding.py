"""From bytes to lines and rows: encodings, line ends, and quoting held against Python's csv module."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipelines.intake.decoding import (
    DELIMITERS,
    count_lines,
    decode,
    detect_encoding,
    split_lines,
    split_rows,
)
from pipelines.intake.rejection import FileRejected

TEXT = "Sheet;µm\r\nA-1;90,5\r\n"
PRINTABLE = st.characters(exclude_categories=["Cs", "Cc"])


def reason(data: bytes, stated: str | None = None):
    with pytest.raises(FileRejected) as held:
        decode(data, stated)
    assert held.value.rejection.line_number is None
    return held.value.rejection


@pytest.mark.parametrize(
    ("codec", "mark", "stated", "found"),
    [
        ("utf-8", b"", None, "utf-8"),
        ("utf-8", b"", "utf-8", "utf-8"),
        ("utf-8", b"\xef\xbb\xbf", None, "utf-8-sig"),
        ("utf-8", b"\xef\xbb\xbf", "cp1252", "utf-8-sig"),  # the mark knows better
        ("utf-16-le", b"\xff\xfe", None, "utf-16"),
        ("utf-16-be", b"\xfe\xff", None, "utf-16"),
        ("utf-16-le", b"\xff\xfe", "cp1252", "utf-16"),
        ("utf-16-be", b"\xfe\xff", "utf-16-le", "utf-16"),
        ("utf-16-le", b"", "utf-16-le", "utf-16-le"),
        ("utf-32-le", b"\xff\xfe\x00\x00", None, "utf-32"),
        ("utf-32-be", b"\x00\x00\xfe\xff", None, "utf-32"),
        ("cp1252", b"", "cp1252", "cp1252"),
        ("latin-1", b"", "latin-1", "latin-1"),
    ],
)
def test_encodings(codec, mark, stated, found):
    data = mark + TEXT.encode(codec)
    assert detect_encoding(data, stated) == found
    assert decode(data, stated) == TEXT


@pytest.mark.parametrize("data", [b"", b"\r\n", b" \t\n\n"])
def test_an_empty_file_is_held(data):
    assert reason(data).rule == "empty_file"


def test_bytes_that_are_not_utf8_need_a_stated_encoding():
    found = reason("Größe".encode("cp1252"))
    assert found.rule == "encoding"
    assert 'dialect.encoding in the profile, for example "cp1252"' in found.remedy


@pytest.mark.parametrize("stated", ["cp1252", "latin-1", "iso8859-7", "cp850"])
def test_utf8_is_not_read_as_a_one_byte_encoding(stated):
    """cp1252 reads any UTF-8 without complaint, and wrong: µ comes out as Âµ."""
    found = reason(TEXT.encode(), stated)
    assert found.rule == "encoding"
    assert "valid UTF-8" in found.what


def test_plain_letters_are_the_same_in_either():
    assert decode(b"Sheet;um\n", "cp1252") == "Sheet;um\n"


def test_bytes_outside_the_stated_encoding_are_named_with_their_line():
    found = reason(b"Sheet\nA-1\nB\xff-1\n", "utf-8")
    assert found.what == "The file is not utf-8: line 3 (byte 11) cannot be decoded."


@pytest.mark.parametrize("control", ["\x00", "\x01", "\x08", "\x0b", "\x1a", "\x1b", "\x7f"])
def test_control_characters_are_no_text(control):
    found = reason(f"Sheet\nA{control}1\n".encode())
    assert found.rule == "binary"
    assert f"line 2 contains the control character U+{ord(control):04X}" in found.what


def test_cp1252_decoded_as_latin_1_is_detected_by_control_characters():
    found = reason("Sheet\n5 € – 6\n".encode("cp1252"), "latin-1")
    assert found.rule == "encoding"
    assert "line 2 contains the control character U+0080" in found.what


def test_line_ends_are_crlf_lf_and_cr_and_nothing_else():
    lines = split_lines("a\r\nb\nc\rd\u2028e\x85f\x0cg")
    assert lines.text == ["a", "b", "c", "d\u2028e\x85f\x0cg"]
    assert not lines.ends_with_line_end


@pytest.mark.parametrize(
    ("text", "count", "complete"), [("", 0, True), ("a", 1, False), ("a\n", 1, True), ("\n\n", 2, True)]
)
def test_the_last_line_may_lack_its_end(text, count, complete):
    lines = split_lines(text)
    assert (len(lines), lines.ends_with_line_end) == (count, complete)


@given(st.text(PRINTABLE | st.sampled_from("\r\n")))
def test_counting_lines_of_bytes_that_cannot_be_decoded_agrees_where_ends_are_of_one_kind(text):
    for end in ("\r\n", "\n", "\r"):
        one_kind = end.join(split_lines(text).text) + end * split_lines(text).ends_with_line_end * (
            len(text) > 0
        )
        assert count_lines(one_kind.encode("utf-8")) == len(split_lines(one_kind))


CELLS = st.text(PRINTABLE | st.sampled_from('";,\t|\n '), max_size=8)
TABLES = st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=1, max_size=8)


# The module quotes a line feed only where lines end in one.
WAYS_TO_WRITE = st.sampled_from(
    [("\n", csv.QUOTE_MINIMAL), ("\r\n", csv.QUOTE_MINIMAL), ("\r", csv.QUOTE_ALL)]
)


@given(TABLES, st.sampled_from(DELIMITERS), WAYS_TO_WRITE)
def test_whatever_the_csv_module_writes_is_read_back(table, delimiter, way):
    end, quoting = way
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=quoting).writerows(table)
    lines = split_lines(out.getvalue())
    rows = list(split_rows(lines, delimiter, 1))
    assert [row.cells for row in rows] == table
    assert not any(row.unclosed_quote for row in rows)
    assert_lines_are_all_there(rows, lines)


@given(st.text(st.sampled_from('"";,\nab '), max_size=40))
def test_any_quoting_gives_rows_that_take_every_line_once(text):
    lines = split_lines(text)
    rows = list(split_rows(lines, ";", 1))
    assert_lines_are_all_there(rows, lines)
    for row in rows:
        if row.line_count == 1 and '"' not in row.text:
            assert row.cells == row.text.split(";")


def assert_lines_are_all_there(rows, lines):
    assert [line for row in rows for line in row.text.split("\n")] == lines.text
    first = 1
    for row in rows:
        assert row.line_number == first
        first += row.line_count


@given(st.lists(st.text(st.sampled_from('"";ab '), max_size=8), min_size=1, max_size=6))
def test_unclosed_quotes_are_distinguished_from_closed_ones(lines):
    """Compared with the csv module's strict reading of the same row alone."""
    for row in split_rows(split_lines("\n".join(lines) + "\n"), ";", 1):
        try:
            list(csv.reader(io.StringIO(row.text + "\n"), delimiter=";", strict=True))
            well_formed = True
        except csv.Error:
            well_formed = False
        if row.line_count > 1:
            assert row.unclosed_quote != well_formed
        elif well_formed:
            assert not row.unclosed_quote


@pytest.mark.parametrize(
    ("text", "spans", "left_open"),
    [
        ('a;"b\nc";d\ne;f;g', [2, 1], [False, False]),
        ('a;"b\nc;d\ne;f', [3], [True]),
        ('a;b\nc;"d', [1, 1], [False, True]),  # on the last line too
        ('a;12" wide\nb;13" wide', [1, 1], [False, False]),  # inches, not quotes
        ('a;"bad\nb;"good"\nc;d', [2, 1], [True, False]),  # the next quote does not close it
        ('a;"said ""so""";c', [1], [False]),
        ('"', [1], [True]),
        ('""', [1], [False]),
    ],
)
def test_quotes(text, spans, left_open):
    rows = list(split_rows(split_lines(text), ";", 1))
    assert [row.line_count for row in rows] == spans
    assert [row.unclosed_quote for row in rows] == left_open


def test_a_cell_too_long_for_the_csv_module_hangs_up_the_rest_and_nothing_before():
    rows = list(split_rows(split_lines('a;"b"\n' + "c;" + "d" * 200_000 + '\ne;"f"\n'), ";", 1))
    assert [(row.line_number, row.line_count, row.unclosed_quote) for row in rows] == [
        (1, 1, False),
        (2, 2, True),
    ]


def test_rows_begin_at_the_line_asked_for():
    (row,) = split_rows(split_lines("x\ny\na;b\n"), ";", 3)
    assert (row.line_number, row.cells) == (3, ["a", "b"])
