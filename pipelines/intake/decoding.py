"""Decode bytes and split them into lines and cells, without silent guesses."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from pipelines.intake.rejection import RE_EXPORT, FileRejected

_BYTE_ORDER_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_LINE_END = re.compile("\r\n|\r|\n")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_C1_CONTROL = re.compile("[\x80-\x84\x86-\x9f]")
_REPLACE_OR_REMOVE = f"If it is an export, {RE_EXPORT} If it is not, remove it from the inbox."

_SENTINEL = "\x00"
"""A line added after the last one: a quote that is still open swallows it. Decoded text never contains it."""

DELIMITERS = (";", ",", "\t", "|")


def detect_encoding(data: bytes, declared: str | None) -> str:
    """Return the encoding of a file: by its byte order mark, else the profile's declared one, else UTF-8.

    Raises FileRejected when the bytes contradict the declared encoding, or when none is declared and the bytes
    are not UTF-8.
    """
    for mark, name in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return name
    is_utf8 = _is_utf8(data)
    if declared is None:
        if not is_utf8:
            raise FileRejected(
                "encoding",
                "The file is not UTF-8, has no byte order mark, and the profile names no encoding.",
                'Set dialect.encoding in the profile, for example "cp1252".',
            )
        return "utf-8"
    one_byte = not declared.lower().replace("_", "-").startswith(("utf", "u8"))
    if one_byte and is_utf8 and not data.isascii():
        raise FileRejected(
            "encoding",
            f"The profile says {declared}, but the file is valid UTF-8.",
            'Set dialect.encoding = "utf-8" in the profile, or remove the setting.',
        )
    return declared


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def decode(data: bytes, declared: str | None) -> str:
    """Return a file's text; raises FileRejected when it is empty, binary or in another encoding."""
    if not data.strip():
        raise FileRejected("empty_file", "The file is empty.", _REPLACE_OR_REMOVE)
    encoding = detect_encoding(data, declared)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = 1 + len(_LINE_END.findall(data[: error.start].decode(encoding, "replace")))
        raise FileRejected(
            "encoding",
            f"The file is not {encoding}: line {line} (byte {error.start}) cannot be decoded.",
            f"Correct dialect.encoding in the profile, or {RE_EXPORT}",
        ) from None
    if found := _CONTROL.search(text):
        line = 1 + len(_LINE_END.findall(text[: found.start()]))
        raise FileRejected(
            "binary",
            f"The file is not text: line {line} contains the control character U+{ord(found[0]):04X}.",
            _REPLACE_OR_REMOVE,
        )
    if found := _C1_CONTROL.search(text):
        line = 1 + len(_LINE_END.findall(text[: found.start()]))
        raise FileRejected(
            "encoding",
            f"The file is not {encoding}: decoded so, line {line} contains the control character "
            f"U+{ord(found[0]):04X}, which exports never contain.",
            'Correct dialect.encoding in the profile; the right one is often "cp1252".',
        )
    return text


@dataclass(frozen=True)
class Lines:
    """A file's lines without their line ends; line n is ``text[n - 1]``.

    ``delimiter`` is what separates their cells, where that is known: in a workbook.
    """

    text: list[str]
    ends_with_line_end: bool
    delimiter: str | None = None

    def __len__(self) -> int:
        return len(self.text)


def split_lines(text: str) -> Lines:
    """Split text into lines at CRLF, LF and CR, and at no other character."""
    parts = _LINE_END.split(text)
    complete = parts[-1] == ""
    return Lines(parts[:-1] if complete else parts, complete)


def count_lines(data: bytes) -> int:
    """Return the number of lines of a file that cannot be decoded: its line ends, plus a last line without one."""
    ends = data.count(b"\n") or data.count(b"\r")
    return ends + (0 if not data or data.endswith((b"\n", b"\r", b"\n\0", b"\r\0")) else 1)


@dataclass(frozen=True)
class Row:
    """One row of a CSV: its first line, its number of lines, its cells and its original text.

    ``unclosed_quote``: the row contains a quote that spans lines and is not closed by the rules of CSV, so where
    the row ends is unknown.
    """

    line_number: int
    line_count: int
    cells: list[str]
    text: str
    unclosed_quote: bool = False


def split_rows(lines: Lines, delimiter: str, first_line: int) -> Iterator[Row]:
    """Yield the rows from line ``first_line`` (counted from 1) on; a quoted cell may span lines.

    A row of several lines must follow the rules of quoting strictly. Otherwise a stray quote would swallow the
    rows up to the next quote as one cell.
    """
    rest = lines.text[first_line - 1 :]
    if not any('"' in line for line in rest):
        for offset, line in enumerate(rest):
            yield Row(first_line + offset, 1, line.split(delimiter), line)
        return
    reader = csv.reader(chain((line + "\n" for line in rest), [_SENTINEL]), delimiter=delimiter)
    done = 0
    while done < len(rest):
        try:
            cells = next(reader)
        except csv.Error:  # a cell longer than the csv module's limit
            yield Row(first_line + done, len(rest) - done, [], "\n".join(rest[done:]), unclosed_quote=True)
            return
        span = rest[done : reader.line_num]
        unclosed = reader.line_num > len(rest) or (len(span) > 1 and not _is_valid_csv(span, delimiter))
        yield Row(first_line + done, len(span), cells or [""], "\n".join(span), unclosed)
        done += len(span)


def _is_valid_csv(span: list[str], delimiter: str) -> bool:
    try:
        return len(list(csv.reader((line + "\n" for line in span), delimiter=delimiter, strict=True))) == 1
    except csv.Error:
        return False
