"""The text of a query, looked at without running it: where statements end, which tables it names."""

import math
import re
from collections.abc import Iterable
from itertools import pairwise

import duckdb

_TOKEN = re.compile(r"""'(?:[^']|'')*'|"(?:[^"]|"")*"|\$(\w*)\$.*\$\1\$|\w+|[^\w\s]""", re.DOTALL)
_NUMBER = re.compile(r"[+-]?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?")


def tokens(text: str) -> list[str]:
    """Return the words and signs of a query, without comments; a text that is not closed yet is left out."""
    encoded = text.encode()
    starts = [start for start, _ in duckdb.tokenize(text)]
    parts = (encoded[start:end].decode(errors="replace") for start, end in pairwise([*starts, len(encoded)]))
    return [found[0] for part in parts if (found := _TOKEN.match(part))]


def is_complete(text: str) -> bool:
    """Return whether a text ends with a statement's semicolon, which within quotes or a comment is none."""
    return tokens(text)[-1:] == [";"]


def statements(text: str) -> list[str]:
    """Return the statements of a text, divided at semicolons that are in no quotes and no comment."""
    encoded = text.encode()
    ends = [start for start, _ in duckdb.tokenize(text) if encoded[start : start + 1] == b";"]
    parts = [
        encoded[start:end].decode().strip("; \t\r\n") for start, end in pairwise([0, *ends, len(encoded)])
    ]
    return [part for part in parts if tokens(part)]


def tables_named(text: str, tables: Iterable[str]) -> list[str]:
    """Return those of ``tables`` that a query names, in its order; ``records.tensile`` is named by both words."""
    words = [token.strip('"').lower() for token in tokens(text)]
    named = [
        ".".join([words[place - 2], word]) if place > 1 and words[place - 1] == "." else word
        for place, word in enumerate(words)
    ]
    known = set(tables)
    return [name for name in dict.fromkeys(named) if name in known]


def table_behind(text: str, name: str, tables: Iterable[str]) -> str | None:
    """Return the table that a query calls by a name, its own or an alias (``FROM sheet AS s``); None for neither."""
    known = set(tables)
    if name.lower() in known:
        return name.lower()
    words = [token.strip('"').lower() for token in tokens(text)]
    for place, word in enumerate(words):
        if word != name.lower() or place == 0:
            continue
        before = words[: place - 1] if words[place - 1] == "as" else words[:place]
        for parts in (3, 1):
            if "".join(before[-parts:]) in known:
                return "".join(before[-parts:])
    return None


def parameter(text: str) -> tuple[str, int | float | str]:
    """Return name and value of ``name=value``.

    A value that parses as a number is a number. Anything else is text, and so is a value in single quotes:
    ``sheet='104'``. A number with leading zeros is text: it is an identifier. Raises ValueError when there is no name.
    """
    name, equals, value = text.partition("=")
    if not equals or not re.fullmatch(r"\w+", name):
        raise ValueError(text)
    if len(value) >= 2 and value[0] == value[-1] == "'":
        return name, value[1:-1]
    if not (number := _NUMBER.fullmatch(value)):
        return name, value
    if not (number[2] or number[3]):
        return name, int(value)
    return name, float(value) if math.isfinite(float(value)) else value
