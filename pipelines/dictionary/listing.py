"""The listing of published columns: what each release promises to queries.

``python -m pipelines.dictionary.listing`` updates the listing after an addition. To remove a column, change its type
or unit, or let it be missing where it never was, would break existing queries: the listing refuses such a change,
which needs a table with a new name.
"""

import sys
import tomllib
from collections.abc import Iterable, Mapping
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from pipelines.dictionary.declared import Column, Table, published_tables
from pipelines.dictionary.history import FOLDER, Change, changes, contract_version, versions

Listing = Mapping[str, Mapping[str, Mapping[str, Any]]]
"""Table -> column -> its promise: type, unit, nullable."""

COMMAND = "python -m pipelines.dictionary.listing"

REMEDY = (
    "Existing queries would break. Restore the column, or publish the changed table under a new name beside the old "
    "one and retire the old one later with an entry in schemas/marts/changes.toml."
)

_HEAD = f"# The published columns and what is promised of each. Written by `{COMMAND}`; do not edit.\n"


def listed(folder: Traversable = FOLDER) -> Listing:
    """Return the stored listing, schemas/marts/published.toml."""
    return tomllib.loads((folder / "published.toml").read_text(encoding="utf-8"))


def promised(tables: Iterable[Table]) -> Listing:
    """Return the listing of the tables as currently declared."""
    return {table.name: {column.name: _promise(column) for column in table.columns} for table in tables}


def breaches(before: Listing, now: Listing, history: Iterable[Change] = ()) -> list[str]:
    """Return a sentence for each promise of the old listing that no longer holds, except for retired tables."""
    retired = {change.table for change in history if change.retired}
    found = []
    for table, columns in before.items():
        if table in retired:
            continue
        if table not in now:
            found.append(f"The published table {table} is gone.")
            continue
        for name, was in columns.items():
            found += _breaches_of_column(f"{table}.{name}", was, now[table].get(name))
    return found


def additions(before: Listing, now: Listing, history: Iterable[Change] = ()) -> list[Change]:
    """Return the changes for tables and columns that are declared now and were not listed before."""
    known = versions(history)
    contract = contract_version(history) + 1
    found = []
    for table, columns in now.items():
        new = [name for name in columns if name not in before.get(table, {})]
        if table not in before:
            found.append(Change(contract, table, 1, "New table."))
        elif new:
            kinds = "New column" if len(new) == 1 else "New columns"
            found.append(Change(contract, table, known.get(table, 1) + 1, f"{kinds}: {', '.join(new)}."))
    return found


def as_toml(listing: Listing) -> str:
    """Return the text of the listing's file, a line for each column."""
    parts = [_HEAD]
    for table, columns in listing.items():
        lines = [f"{name} = {_inline(promise)}" for name, promise in columns.items()]
        parts.append("\n".join([f"[{table}]", *lines]) + "\n")
    return "\n".join(parts)


def entry(change: Change) -> str:
    """Return a change as an entry of schemas/marts/changes.toml."""
    return (
        "\n[[change]]\n"
        f"contract = {change.contract}\n"
        f'table = "{change.table}"\n'
        f"version = {change.version}\n"
        f'note = "{change.note}"\n'
    )


def update(folder: Path) -> int:
    """Update the listing and the changes in a folder; return the exit code, 1 where a promise is broken."""
    before, now, history = listed(folder), promised(published_tables()), changes(folder)
    if broken := breaches(before, now, history):
        print("\n".join([*broken, REMEDY]), file=sys.stderr)
        return 1
    added = additions(before, now, history)
    with (folder / "changes.toml").open("a", encoding="utf-8") as stream:
        stream.writelines(map(entry, added))
    (folder / "published.toml").write_text(as_toml(now), encoding="utf-8")
    for change in added:
        print(f"{change.table}, version {change.version}: {change.note}")
    return 0


def _promise(column: Column) -> dict[str, Any]:
    unit = {} if column.unit is None else {"unit": column.unit}
    return {"type": column.sql_type, **unit, "nullable": column.nullable}


def _breaches_of_column(name: str, was: Mapping[str, Any], now: Mapping[str, Any] | None) -> list[str]:
    if now is None:
        return [f"The published column {name} is gone."]
    found = [
        f"The {what} of the published column {name} was {was.get(what)} and is {now.get(what)}."
        for what in ("type", "unit")
        if was.get(what) != now.get(what)
    ]
    if now["nullable"] and not was["nullable"]:
        found.append(f"The published column {name} was never missing and may be now.")
    return found


def _inline(promise: Mapping[str, Any]) -> str:
    nullable = "true" if promise["nullable"] else "false"
    unit = f'unit = "{promise["unit"]}", ' if "unit" in promise else ""
    return f'{{ type = "{promise["type"]}", {unit}nullable = {nullable} }}'


if __name__ == "__main__":
    sys.exit(update(Path(str(FOLDER))))
