"""Hints for a query that DuckDB rejects: the most similar name, or the table that has the column."""

import difflib
import re
from collections.abc import Iterable, Mapping

from pipelines.warehouse.catalogue import Catalogue
from pipelines.warehouse.query_text import tables_named

_SUGGESTIONS = re.compile(r"\n+(?:Candidate (?:bindings|tables)|Did you mean)[^\n]*")

_MISSING = (
    ("column", re.compile(r'(?:Referenced column|have a column named|column named|Column)\s+"([^"]+)"')),
    ("table", re.compile(r'Table with name\s+"?([\w.]+)"?')),
    ("function", re.compile(r'(?:Function|Macro) with name\s+"?(\w+)"?')),
)


def without_suggestions(message: str) -> str:
    """Return DuckDB's message with the place in the query but without its suggestions, which ``hint`` replaces."""
    return re.sub(r"\n{2,}", "\n", _SUGGESTIONS.sub("", message)).strip()


def hint(message: str, query: str, parameters: Mapping[str, object], catalogue: Catalogue) -> str:
    """Return what to do about DuckDB's message on a query; an empty text for an unknown message."""
    if "read-only" in message:
        return "The snapshot is read-only: query it, but do not change it."
    if message.startswith("Permission Error"):
        return "Queries can only read the snapshot; write results to a file with --out."
    if message.startswith("Out of Memory Error"):
        return "Query fewer rows or columns, or aggregate them first with GROUP BY."
    if "Could not convert string" in message and any(
        not isinstance(value, str) for value in parameters.values()
    ):
        return (
            "A parameter that looks like a number is a number. To pass it as text: --parameter \"name='104'\""
        )
    for kind, pattern in _MISSING:
        if found := pattern.search(message):
            return _nearest(kind, found[1].lower(), query, catalogue)
    return ""


def _nearest(kind: str, missing: str, query: str, catalogue: Catalogue) -> str:
    if kind == "function":
        return _meant(_near(missing, catalogue.functions)) or (
            "Formulas: SELECT function_name, comment FROM duckdb_functions() WHERE NOT internal"
        )
    if kind == "table":
        by_last_word = {table.split(".")[-1]: table for table in reversed(catalogue.tables)}
        near = [by_last_word.get(name, name) for name in _near(missing, [*by_last_word, *catalogue.tables])]
        return _meant(dict.fromkeys(near)) or "Names of tables and columns: SHOW ALL TABLES"
    asked = tables_named(query, catalogue.tables)
    if elsewhere := [table for table, columns in catalogue.columns.items() if missing in columns]:
        if not set(elsewhere) & set(asked):
            return f"{missing} is a column of {' and of '.join(elsewhere[:4])}."
        return ""
    if near := _near(missing, [column for table in asked for column in catalogue.columns[table]]):
        return _meant(near)
    others = {column: table for table, columns in reversed(catalogue.columns.items()) for column in columns}
    if near := _near(missing, others):
        return _meant(f"{name} of {others[name]}" for name in near)
    if asked:
        return f"Its columns: DESCRIBE {asked[0]}"
    return "Names of tables and columns: SHOW ALL TABLES"


def _near(missing: str, known: Iterable[str]) -> list[str]:
    return difflib.get_close_matches(missing, list(dict.fromkeys(known)), n=3, cutoff=0.6)


def _meant(names: Iterable[str]) -> str:
    joined = " or ".join(names)
    return f"Did you mean {joined}?" if joined else ""
