"""Tables of a page: columns with headings from the models, and cells as text."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from types import MappingProxyType
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
    """A cell with a value and its uncertainty as texts; ``width`` is that of the column's longest uncertainty.

    Rows of different properties have different decimals, so ``±`` is what stands below ``±``.
    """

    value: str
    uncertainty: str = ""
    width: int = 0

    def __html__(self) -> Markup:
        text = f" ± {self.uncertainty}" if self.uncertainty else ""
        return Markup('{}<span class="uncertainty" style="min-width: {}ch">{}</span>').format(
            self.value, self.width + len(" ± "), text
        )


def measured(texts: Sequence[tuple[str, str] | None]) -> list[Measured | str]:
    """Return the cells of a column of values and uncertainties; None is missing."""
    width = max((len(pair[1]) for pair in texts if pair is not None), default=0)
    return [labels.MISSING if pair is None else Measured(*pair, width) for pair in texts]


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


def aligned(
    rows: Sequence[Row],
    names: Iterable[str],
    change: Callable[[Row], Mapping[str, Any]] = lambda row: {},
    uncertainties: Mapping[str, float] = MappingProxyType({}),
) -> list[Row]:
    """Return the cells of a table; each column of numbers among ``names`` has the same decimals in every row.

    ``change`` gives the cells of a row that are not just its values. ``uncertainties`` has the typical standard
    uncertainty of columns, which sets their decimals.
    """
    columns = {name: [row[name] for row in rows if row[name] is not None] for name in names}
    numbers = {
        name: labels.decimals(values, uncertainties.get(name))
        for name, values in columns.items()
        if values and isinstance(values[0], float | int)
    }
    return [
        {
            **cells(row),
            **{name: labels.fixed(row[name], count) for name, count in numbers.items()},
            **change(row),
        }
        for row in rows
    ]


def cell(value: Any) -> str:
    """Return a value as text: numbers to at most four digits, times to the minute, a dash where it is missing.

    >>> cell(1.23456), cell(0.3), cell(True), cell(None), cell("a")
    ('1.235', '0.3', 'yes', '–', 'a')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return labels.moment(value)
    if isinstance(value, float):
        return labels.fixed(value, labels.decimals([value]))
    if value is None or isinstance(value, int):
        return labels.number(value)
    return str(value)


@cache
def _types(mart: str) -> dict[str, str]:
    (table,) = (table for table in published_tables() if table.name == mart)
    return {column.name: column.sql_type for column in table.columns}
