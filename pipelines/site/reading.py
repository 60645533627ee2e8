"""Load the data of the pages: the rows of every statement in sql/pages, each run once on a snapshot."""

from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pipelines.site import labels
from pipelines.warehouse.connection import reading
from pipelines.warehouse.statements import names, statement

Rows = list[dict[str, Any]]


class Published:
    """The rows of the statements in sql/pages by name: all, or those of one trial or sheet."""

    def __init__(self, rows: dict[str, Rows]) -> None:
        self._rows = rows
        self.zone = ZoneInfo(rows["setting"][0]["time_zone"])
        self._by: dict[tuple[str, str], dict[Any, Rows]] = {}

    def all(self, name: str) -> Rows:
        """Return all rows of a statement, in its order."""
        return self._rows[name]

    def of(self, name: str, **key: str) -> Rows:
        """Return the rows of a statement with one key, such as ``of("trial_sheet", trial="T1")``, in its order."""
        ((column, value),) = key.items()
        if (name, column) not in self._by:
            groups = defaultdict(list)
            for row in self._rows[name]:
                groups[row[column]].append(row)
            self._by[name, column] = groups
        return self._by[name, column].get(value, [])

    def typical_uncertainty(self, of_table: str) -> dict[str, float]:
        """Return the median standard uncertainty of each column of properties, in ``sheet`` or ``trial_point``."""
        return {
            labels.property_column(row["property"], row["direction"]): row["standard_uncertainty"]
            for row in self.of("typical_uncertainty", of_table=of_table)
        }


def read(snapshot: Path) -> Published:
    """Run every statement of sql/pages on a snapshot; times are in the zone of the laboratory."""
    with reading(snapshot) as connection:
        tables = {
            name.removeprefix("pages/"): connection.execute(statement(name)).to_arrow_table()
            for name in names("pages")
        }
    published = Published({name: table.to_pylist() for name, table in tables.items()})
    for name, table in tables.items():
        times = [field.name for field in table.schema if str(field.type).startswith("timestamp")]
        for row in published.all(name) if times else ():
            row |= {time: labels.local(row[time], published.zone) for time in times if row[time] is not None}
    return published


def distinct(rows: Iterable[dict[str, Any]], column: str) -> list[Any]:
    """Return the distinct values of a column in their order, without missing ones."""
    return list(dict.fromkeys(row[column] for row in rows if row[column] is not None))
