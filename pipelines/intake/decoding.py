"""From bytes to lines: encoding, line ends, and the split of lines into cells. Nothing is guessed silently."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from pipelines.intake.rejection import FileRejected

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
_EXPORT_AGAIN = "Export it again from the tester; if it is no export, take it out of the inbox."

_PAST_THE_END = "\x00"
"""A line put after the last one: a quote still open there takes it in. No decoded text has this character."""

DELIMITERS = (";", ",", "\t", "|")


def encoding_of(data: bytes, stated: str | None) -> str:
    """Return the encoding to read by: a byte order mark's, else the stated one, else UTF-8.

    Raises FileRejected where the bytes contradict the stated encoding, or none is stated and they are not UTF-8.
    """
    for mark, name in _BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return name
    is_utf8 = _is_utf8(data)
    if stated is None:
        if not is_utf8:
            raise FileRejected(
                "encoding",
                "The file is not UTF-8 and bears no byte order mark, and no encoding is stated for it.",
                'State dialect.encoding in the profile, such as "cp1252".',
            )
        return "utf-8"
    one_byte = not stated.lower().replace("_", "-").startswith(("utf", "u8"))
    if one_byte and is_utf8 and not data.isascii():
        raise FileRejected(
            "encoding",
            f"The profile states {stated}, but the bytes are well-formed UTF-8, which {stated} text never is "
            "by chance.",
            'State dialect.encoding = "utf-8" in the profile, or leave it out.',
        )
    return stated


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def decoded(data: bytes, stated: str | None) -> str:
    """Decode a file's bytes; raises FileRejected when they are empty, binary or not in the encoding."""
    if not data.strip():
        raise FileRejected("empty_file", "The file is empty.", _EXPORT_AGAIN)
    encoding = encoding_of(data, stated)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = 1 + len(_LINE_END.findall(data[: error.start].decode(encoding, "replace")))
        raise FileRejected(
            "encoding",
            f"The file is not {encoding}: byte {error.start} (line {line}) cannot be read.",
            "State the right dialect.encoding in the profile, or export the file again.",
        ) from None
    if found := _CONTROL.search(text):
        line = 1 + len(_LINE_END.findall(text[: found.start()]))
        raise FileRejected(
            "binary",
            f"The file is not text: line {line} has the control character U+{ord(found[0]):04X}.",
            _EXPORT_AGAIN,
        )
    if found := _C1_CONTROL.search(text):
        line = 1 + len(_LINE_END.findall(text[: found.start()]))
        raise FileRejected(
            "encoding",
            f"Read as {encoding}, line {line} has the control character U+{ord(found[0]):04X}, which no "
            "export writes: the encoding is another one.",
            'State the right dialect.encoding in the profile, often "cp1252".',
        )
    return text


@dataclass(frozen=True)
class Lines:
    """A file's physical lines, without their ends; line n is ``text[n - 1]``."""

    text: list[str]
    ends_with_line_end: bool

    def __len__(self) -> int:
        return len(self.text)


def lines_of(text: str) -> Lines:
    """Split at CRLF, LF or CR, and at nothing else."""
    parts = _LINE_END.split(text)
    complete = parts[-1] == ""
    return Lines(parts[:-1] if complete else parts, complete)


def count_lines(data: bytes) -> int:
    """Count the lines of a file that could not be decoded: its line ends, and a last line without one."""
    ends = data.count(b"\n") or data.count(b"\r")
    return ends + (0 if not data or data.endswith((b"\n", b"\r", b"\n\0", b"\r\0")) else 1)


@dataclass(frozen=True)
class Row:
    """One record of a CSV: where it begins, how many lines it takes, its cells, and its text as it stood.

    ``quote_left_open`` tells of a quote that takes in later lines without being closed as it should be, so that
    nobody can say where the record ends.
    """

    line_number: int
    line_count: int
    cells: list[str]
    text: str
    quote_left_open: bool = False


def rows_of(lines: Lines, delimiter: str, first_line: int) -> Iterator[Row]:
    """Split the lines from ``first_line`` (counted from 1) on into rows; a quoted cell may span lines.

    A row of several lines must keep to the rules of quoting to the letter: a stray quote would otherwise take
    in the rows after it up to the next quote, as if they were one cell.
    """
    rest = lines.text[first_line - 1 :]
    if not any('"' in line for line in rest):
        for offset, line in enumerate(rest):
            yield Row(first_line + offset, 1, line.split(delimiter), line)
        return
    reader = csv.reader(chain((line + "\n" for line in rest), [_PAST_THE_END]), delimiter=delimiter)
    done = 0
    while done < len(rest):
        try:
            cells = next(reader)
        except csv.Error:  # a cell longer than the module takes
            yield Row(first_line + done, len(rest) - done, [], "\n".join(rest[done:]), quote_left_open=True)
            return
        span = rest[done : reader.line_num]
        left_open = reader.line_num > len(rest) or (len(span) > 1 and not _well_quoted(span, delimiter))
        yield Row(first_line + done, len(span), cells or [""], "\n".join(span), left_open)
        done += len(span)


def _well_quoted(span: list[str], delimiter: str) -> bool:
    try:
        return len(list(csv.reader((line + "\n" for line in span), delimiter=delimiter, strict=True))) == 1
    except csv.Error:
        return False
