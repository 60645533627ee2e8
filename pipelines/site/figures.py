"""What a page hands to the browser: rows of data, and figures that say which chart draws them under which title."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

Row = dict[str, Any]


@dataclass(frozen=True)
class Variant:
    """One state of a figure: its title, which says what the data show, and what is put into the chart.

    ``put`` replaces texts of the chart that begin with ``@``, such as ``@property`` or ``@value_title``.
    ``note`` says how to read it, and what is not in it.
    """

    title: str
    note: str = ""
    put: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Behind:
    """The table behind a chart, which the browser makes of the rows that are drawn: headings by the rows' fields.

    ``where`` gives, for some fields, the values that a row must have one of. ``uncertainty`` names, for some fields,
    the field whose values say how many decimals they have. Texts that begin with ``@`` are put in as in the chart.
    """

    data: str
    columns: list[tuple[str, str]]
    where: dict[str, list[str]] = field(default_factory=dict)
    uncertainty: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Figure:
    """A chart of a page: its name in charts.ALL, and its variants by the page's choice (``""`` where there is one)."""

    chart: str
    variants: dict[str, Variant]
    behind: Behind | None = None

    @property
    def first(self) -> Variant:
        """The variant that is shown first, and without JavaScript."""
        return next(iter(self.variants.values()))


def packed(rows: Sequence[Row], columns: Iterable[str]) -> dict[str, Any]:
    """Return rows as JSON in columns, which is half as long: texts, numbers, times as ``plain`` has them, or null."""
    names = list(columns)
    return {"columns": names, "rows": [[plain(row[name]) for name in names] for row in rows]}


def plain(value: Any) -> Any:
    """Return a value as JSON has it; a number that is not finite is null.

    A time is what the laboratory's clocks showed, written as if it were UTC: charts draw UTC, so that they show the
    laboratory's time in every reader's zone.
    """
    if isinstance(value, datetime):
        return value.replace(tzinfo=None).isoformat(timespec="seconds") + "Z"
    if isinstance(value, float):
        # a drawing shows fewer than eight digits
        return float(f"{value:.8g}") if math.isfinite(value) else None
    return value


def page_data(data: dict[str, dict[str, Any]], figures: dict[str, Figure]) -> dict[str, Any]:
    """Return all that a page's scripts need, as plain values: packed rows by name, figures by key."""
    return {"data": data, "figures": {key: asdict(figure) for key, figure in figures.items()}}
