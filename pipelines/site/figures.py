"""The data that a page gives to the browser: rows, and figures with their chart, title and note."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

Row = dict[str, Any]


@dataclass(frozen=True)
class Variant:
    """One variant of a figure: its title, which says what the data show, and the texts to replace in the chart.

    ``put`` maps texts of the chart that begin with ``@``, such as ``@value_title``, to their replacements.
    ``note`` says how to read the chart, and what it leaves out.
    """

    title: str
    note: str = ""
    put: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Behind:
    """The table of a chart's data, made by the browser from the drawn rows: pairs of field and heading.

    ``where`` filters rows: for each field the allowed values. ``uncertainty`` names, for some fields, the
    field that sets their number of decimals. Texts that begin with ``@`` are replaced as in the chart.
    """

    data: str
    columns: list[tuple[str, str]]
    where: dict[str, list[str]] = field(default_factory=dict)
    uncertainty: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Figure:
    """A chart of a page: its name in charts.ALL, and its variants by the reader's choice (``""`` if only one)."""

    chart: str
    variants: dict[str, Variant]
    behind: Behind | None = None

    @property
    def first(self) -> Variant:
        """The variant that is shown first, and without JavaScript."""
        return next(iter(self.variants.values()))


def packed(rows: Sequence[Row], columns: Iterable[str]) -> dict[str, Any]:
    """Return rows as lists of values with the column names once, which halves the size; values as in ``plain``.

    ``same`` has the columns that hold one value in all rows, such as the number of sheets of every trial point.
    """
    values = {name: [plain(row[name]) for row in rows] for name in columns}
    same = {
        name: column[0]
        for name, column in values.items()
        if column and column.count(column[0]) == len(column)
    }
    varying = [name for name in values if name not in same]
    return {
        "columns": varying,
        "rows": [[values[name][place] for name in varying] for place in range(len(rows))],
        "same": same,
    }


def plain(value: Any) -> Any:
    """Return a value for JSON; a number that is not finite becomes null.

    A time is the laboratory's local time, written as if it were UTC. Charts draw UTC, so every reader sees the
    laboratory's local time.
    """
    if isinstance(value, datetime):
        return value.replace(tzinfo=None).isoformat(timespec="seconds") + "Z"
    if isinstance(value, float):
        # a chart shows fewer than eight digits
        if not math.isfinite(value):
            return None
        shown = float(f"{value:.8g}")
        return int(shown) if shown.is_integer() else shown
    return value


def page_data(data: dict[str, dict[str, Any]], figures: dict[str, Figure]) -> dict[str, Any]:
    """Return the data of a page's scripts as plain values: packed rows by name, figures by key."""
    return {"data": data, "figures": {key: asdict(figure) for key, figure in figures.items()}}
