"""Completion of queries: suggestions from the snapshot, columns of the tables in the query first."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pipelines.warehouse.catalogue import Catalogue
from pipelines.warehouse.query_text import table_behind, tables_named, tokens

KEYWORDS = """
    ALL AND AS ASC BETWEEN BY CASE CAST CROSS DESC DESCRIBE DISTINCT ELSE END EXCEPT EXISTS FALSE FILTER FROM FULL GROUP
    HAVING ILIKE IN INNER INTERSECT INTERVAL IS JOIN LAST LEFT LIKE LIMIT NOT NULL NULLS OFFSET ON OR ORDER OUTER OVER
    PARTITION PIVOT QUALIFY RIGHT SAMPLE SELECT SHOW SUMMARIZE TABLES THEN TRUE UNION UNPIVOT USING VALUES WHEN WHERE
    WINDOW WITH
"""

SHORTEST_WITHIN = 3
"""Least number of letters to match any part of a name, and columns of tables that the query does not name."""


@dataclass(frozen=True)
class Suggestion:
    """A word that replaces the last ``replaces`` letters."""

    text: str
    replaces: int
    meaning: str


def suggestions(catalogue: Catalogue, before: str, after: str = "") -> list[Suggestion]:
    """Return suggestions for the end of ``before``, the likeliest first; ``after`` is the text behind the cursor.

    After ``table.`` or ``alias.`` they are its columns, after FROM and JOIN tables; within quotes there are none.
    """
    if before.count("'") % 2:
        return []
    qualified, typed = re.findall(r"(?:\b([\w.]+)\.)?(\w*)$", before)[0]
    query = before + after
    if qualified:
        table = table_behind(query, qualified, catalogue.tables)
        known = catalogue.columns[table] if table else _tables_of_schema(catalogue, qualified)
        return _matching(known.items(), typed)
    last = [word.upper() for word in tokens(before.removesuffix(typed))[-1:]]
    if last in (["FROM"], ["JOIN"], ["DESCRIBE"]) or re.fullmatch(r"\s*columns\s+\w*", before):
        return _matching(catalogue.tables.items(), typed)
    if not typed:
        return []
    return _matching(_by_nearness(catalogue, query, typed), typed)


def _by_nearness(catalogue: Catalogue, query: str, typed: str) -> Iterator[tuple[str, str]]:
    for table in tables_named(query, catalogue.tables):
        yield from catalogue.columns[table].items()
    yield from catalogue.tables.items()
    for macro in catalogue.macros:
        yield macro.name, f"{macro.call}: {macro.meaning}"
    for keyword in KEYWORDS.split():
        if keyword.startswith(typed.upper()):
            yield keyword.lower() if typed.islower() else keyword, ""
    if len(typed) >= SHORTEST_WITHIN:
        for table, columns in catalogue.columns.items():
            for column, meaning in columns.items():
                yield column, f"{table}: {meaning}"


def _tables_of_schema(catalogue: Catalogue, schema: str) -> dict[str, str]:
    start = f"{schema.lower()}."
    return {
        name.removeprefix(start): text for name, text in catalogue.tables.items() if name.startswith(start)
    }


def _matching(known: Iterable[tuple[str, str]], typed: str) -> list[Suggestion]:
    """Return names that begin with the typed letters, then names that contain them; each name once."""
    meanings: dict[str, str] = {}
    for name, meaning in known:
        meanings.setdefault(name, meaning)
    part = typed.lower()
    begin = [name for name in meanings if name.lower().startswith(part)]
    within = [name for name in meanings if part in name.lower()] if len(part) >= SHORTEST_WITHIN else []
    return [
        Suggestion(name, len(typed), " ".join(meanings[name].split()))
        for name in dict.fromkeys(begin + within)
        if name != typed
    ]
