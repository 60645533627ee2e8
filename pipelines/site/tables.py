"""Tables of a page: their columns with headings from the models, and their cells as text."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from pipelines.dictionary.declared import published_tables
from pipelines.site import labels
from pipelines.site.figures import Row


@dataclass(frozen=True)
class Column:
    """A column of a page's table: numbers stand to the right and are sorted as numbers; long texts are folded."""

    name: str
    heading: str
    number: bool = False
    long: bool = False


@dataclass(frozen=True)
class Link:
    """A cell that leads to another page."""

    href: str
    text: str

    def __str__(self) -> str:
        return self.text


def headed(mart: str, names: Iterable[str], long: Iterable[str] = ()) -> list[Column]:
    """Return columns of a published table under their headings with units; ``long`` names those of long texts."""
    types = _types(mart)
    folded = set(long)
    return [
        Column(name, labels.column_label(mart, name), types[name] in ("DOUBLE", "BIGINT"), name in folded)
        for name in names
    ]


def cells(row: Row) -> dict[str, str]:
    """Return a row's values as they are shown."""
    return {name: cell(value) for name, value in row.items()}


def cell(value: Any) -> str:
    """Return a value as it is shown: numbers to four digits, times to the minute, what is missing as a dash.

    >>> cell(1.23456), cell(True), cell(None), cell("a")
    ('1.235', 'yes', '–', 'a')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return labels.moment(value)
    if value is None or isinstance(value, float | int):
        return labels.number(value)
    return str(value)


@cache
def _types(mart: str) -> dict[str, str]:
    (table,) = (table for table in published_tables() if table.name == mart)
    return {column.name: column.sql_type for column in table.columns}
