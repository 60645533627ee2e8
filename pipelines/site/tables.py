"""Tables of a page: columns with headings from the models, and cells as text."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from markupsafe import Markup, escape

from pipelines.dictionary.declared import published_tables
from pipelines.site import labels
from pipelines.site.figures import Row


@dataclass(frozen=True)
class Column:
    """A column of a table: numbers are right-aligned and sorted as numbers; long texts wrap."""

    name: str
    heading: str
    number: bool = False
    long: bool = False

    @property
    def kind(self) -> Markup:
        """The class attribute of the column's cells."""
        name = "number" if self.number else "long" if self.long else ""
        return Markup(' class="{}"').format(name) if name else Markup()


@dataclass(frozen=True)
class Link:
    """A cell with a link to another page."""

    href: str
    text: str

    def __html__(self) -> Markup:
        return Markup('<a href="{}">{}</a>').format(self.href, self.text)


@dataclass(frozen=True)
class Links:
    """A cell with several links, and a text after them."""

    links: tuple[Link, ...]
    rest: str = ""

    def __html__(self) -> Markup:
        return Markup(", ").join(self.links) + self.rest


@dataclass(frozen=True)
class Measured:
    """A cell with a value and its uncertainty as texts, which stand below those of other rows.

    Rows of different properties have different decimals. ``after``, ``inner`` and ``width`` are the widths, in
    figures, of the decimals that the value and the uncertainty lack and of the longest uncertainty of the column.
    """

    value: str
    uncertainty: str = ""
    after: int = 0
    inner: int = 0
    width: int = 0

    def __html__(self) -> Markup:
        between = Markup(" ± ") if self.uncertainty else Markup('<span class="no-uncertainty"></span>')
        value = self._part("value", self.value, f"padding-right: {self.after}ch")
        style = f"padding-right: {self.inner}ch; min-width: {self.width}ch"
        return value + between + self._part("uncertainty", self.uncertainty, style)

    @staticmethod
    def _part(name: str, text: str, style: str) -> Markup:
        kind = name if "." in text else f"{name} whole"
        return Markup('<span class="{}" style="{}">{}</span>').format(kind, style, text)


def measured(texts: Sequence[tuple[str, str] | None]) -> list[Measured | str]:
    """Return the cells of a column of values and uncertainties, aligned at their decimal points; None is missing."""
    pairs = [pair for pair in texts if pair is not None]
    most, most_of_uncertainty = (max((_decimals(pair[side]) for pair in pairs), default=0) for side in (0, 1))
    before_point = max((len(pair[1].partition(".")[0]) for pair in pairs), default=0)
    return [
        labels.MISSING
        if pair is None
        else Measured(
            *pair,
            after=most - _decimals(pair[0]),
            inner=most_of_uncertainty - _decimals(pair[1]),
            width=before_point + 1 + most_of_uncertainty,
        )
        for pair in texts
    ]


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def headed(mart: str, names: Iterable[str], long: Iterable[str] = ()) -> list[Column]:
    """Return columns of a published table with headings and units; ``long`` names those that wrap."""
    types = _types(mart)
    folded = set(long)
    return [
        Column(name, labels.column_label(mart, name), types[name] in ("DOUBLE", "BIGINT"), name in folded)
        for name in names
    ]


_ROW_HEAD, _FOLDED = 'th scope="row"', ' class="long"'
LONG = 40
"""Length in characters from which a text wraps in any column, such as a name without spaces."""


def body(rows: Iterable[Mapping[str, str | Link | Measured]], columns: Sequence[Column]) -> Markup:
    """Return the rows of a table as HTML, every cell escaped; the first cell is the heading of its row.

    In Python, because a template spent most of a page's time on table cells.
    """
    first, *others = columns
    return Markup(  # noqa: S704 - _cell escapes text from files
        "\n".join(
            f"<tr>{_cell(_ROW_HEAD, row[first.name], first)}</th>"
            + "".join([f"{_cell('td', row[column.name], column)}</td>" for column in others])
            + "</tr>"
            for row in rows
        )
    )


def _cell(opening: str, value: Any, column: Column) -> str:
    text = value.text if isinstance(value, Link) else value
    folded = isinstance(text, str) and len(text) > LONG and not column.number
    return f"<{opening}{_FOLDED if folded else column.kind}>{escape(value)}"


def cells(row: Row) -> dict[str, str]:
    """Return the values of a row as text."""
    return {name: cell(value) for name, value in row.items()}


def aligned(rows: Sequence[Row], names: Iterable[str]) -> list[dict[str, str]]:
    """Return the cells of a table; each column of numbers among ``names`` has the same decimals in every row."""
    columns = {name: [row[name] for row in rows if row[name] is not None] for name in names}
    numbers = {
        name: labels.decimals(values)
        for name, values in columns.items()
        if values and isinstance(values[0], float | int)
    }
    return [
        cells(row) | {name: labels.fixed(row[name], count) for name, count in numbers.items()} for row in rows
    ]


def cell(value: Any) -> str:
    """Return a value as text: numbers to four digits, times to the minute, a dash where it is missing.

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
