"""The data dictionary as a Markdown file."""

from collections.abc import Iterable, Iterator

from pipelines.dictionary.declared import Column, Formula, Table
from pipelines.dictionary.history import Change, contract_version
from pipelines.dictionary.units import MEANING_OF_UNIT
from pipelines.dictionary.wording import limits_text, pieces, rules_text
from schemas.units import SUFFIX_OF_UNIT

_INTRODUCTION = """\
What every table and column of the published snapshot means. The snapshot has the same texts as comments: see
`SELECT table_name, comment FROM duckdb_tables()`, and likewise `duckdb_columns()` and `duckdb_functions()`.

- A column name ends in its unit. Units are UCUM codes; [Units](#units) explains them.
- Times are in UTC, without a zone; their names end in `_utc`.
- A column that may be missing can be NULL; its meaning says when.
- The published tables are a contract: new versions add columns; they never remove one or change its type or unit
  under the same table name. [Changes](#changes) lists the changes.
- The tables of schema `records` contain the imported records, one table per kind. They have no version."""


def dictionary(
    published: Iterable[Table],
    records: Iterable[Table],
    formulas: Iterable[Formula],
    changes: Iterable[Change],
) -> str:
    """Return the whole dictionary: contents, tables with their columns, formulas, units and changes."""
    published, records, formulas, changes = tuple(published), tuple(records), tuple(formulas), tuple(changes)
    blocks = [
        "# Data dictionary",
        f"Version {contract_version(changes)} of the published tables.",
        _INTRODUCTION,
        "## Contents",
        _contents("Published tables", published),
        _contents("Records", records),
        ", ".join(map(_link, ("Formulas", "Units", "Changes"))),
        "## Published tables",
        *(block for table in published for block in _table(table)),
        "## Records",
        *(block for table in records for block in _table(table)),
        "## Formulas",
        "Macros of the snapshot for your own queries. The tables above use the same macros.",
        _grid(
            ("macro", "meaning", "source"),
            ((_code(each.signature), _prose(each.text), _prose(each.source)) for each in formulas),
        ),
        "## Units",
        _grid(
            ("UCUM code", "column name ends in", "meaning"),
            (
                (_code(unit), _code(f"_{ending}") if ending else "", MEANING_OF_UNIT[unit])
                for unit, ending in SUFFIX_OF_UNIT.items()
            ),
        ),
        "## Changes",
        _changes(changes),
    ]
    return "\n\n".join(blocks) + "\n"


def _contents(heading: str, tables: Iterable[Table]) -> str:
    return f"{_link(heading)}\n\n" + _items(
        f"{_link(table.full_name)}: {_prose(table.grain)}" for table in tables
    )


def _table(table: Table) -> Iterator[str]:
    yield f"### {table.full_name}"
    version = "" if table.version is None else f"Version {table.version}."
    yield _prose(" ".join(filter(None, (table.grain, table.remark, version))))
    if table.rules:
        yield f"A line that breaks a rule goes on hold: {_prose(rules_text(table))}"
    yield _grid(
        ("column", "type", "unit", "may be missing", "meaning", "values", "source"), map(_row, table.columns)
    )


def _row(column: Column) -> tuple[str, ...]:
    values = ", ".join(map(_code, column.allowed)) or _prose(limits_text(column))
    return (
        _code(column.name),
        column.sql_type,
        _code(column.unit) if column.unit not in (None, "1", "UTC") else "",
        "yes" if column.nullable else "",
        _prose(column.description),
        values,
        _prose(column.source or ""),
    )


def _changes(changes: tuple[Change, ...]) -> str:
    if not changes:
        return "None yet: this is the first version of every table."
    return _items(
        f"Version {change.contract}: {_code(change.table)}"
        f"{' is no longer published' if change.retired else f', version {change.version}'}. {_prose(change.note)}"
        for change in reversed(changes)
    )


def _grid(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [heads, ("---",) * len(heads), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def _items(items: Iterable[str]) -> str:
    return "\n".join(f"- {item}" for item in items)


def _link(heading: str) -> str:
    return f"[{heading}](#{heading.lower().replace(' ', '-').replace('.', '')})"


def _prose(text: str) -> str:
    return "".join(_code(piece) if is_name else _plain(piece) for piece, is_name in pieces(text))


def _plain(text: str) -> str:
    for sign in "\\`*<|[":
        text = text.replace(sign, f"\\{sign}")
    return text


def _code(text: str | None) -> str:
    return f"`{text}`".replace("|", "\\|")
