"""Tables of a page: their columns with headings from the models, and their cells as text."""

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
    """A column of a page's table: numbers stand to the right and are sorted as numbers; long texts are folded."""

    name: str
    heading: str
    number: bool = False
    long: bool = False

    @property
    def kind(self) -> Markup:
        """The column's class, as an attribute of its cells."""
        name = "number" if self.number else "long" if self.long else ""
        return Markup(' class="{}"').format(name) if name else Markup()


@dataclass(frozen=True)
class Link:
    """A cell that leads to another page."""

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


def headed(mart: str, names: Iterable[str], long: Iterable[str] = ()) -> list[Column]:
    """Return columns of a published table under their headings with units; ``long`` names those of long texts."""
    types = _types(mart)
    folded = set(long)
    return [
        Column(name, labels.column_label(mart, name), types[name] in ("DOUBLE", "BIGINT"), name in folded)
        for name in names
    ]


def body(rows: Iterable[Mapping[str, str | Link]], columns: Sequence[Column]) -> Markup:
    """Return the rows of a table as HTML, every cell escaped; the first cell heads its row.

    Made here and not in a template, where the cells of tables took most of the time of a page.
    """
    first, *others = columns
    head, opened = (
        f'<tr><th scope="row"{first.kind}>',
        [(column.name, f"<td{column.kind}>") for column in others],
    )
    return Markup(  # noqa: S704 - what comes from outside is escaped
        "\n".join(
            f"{head}{escape(row[first.name])}</th>"
            + "".join([f"{opening}{escape(row[name])}</td>" for name, opening in opened])
            + "</tr>"
            for row in rows
        )
    )


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
