"""Declarations as text, the same in the Markdown dictionary and on its page."""

import re

from pipelines.dictionary.declared import Column, Table

_NAME = re.compile(r"(?<![\w`])(?:\w+\.)?(?:\w+_\w*|_\w+)(?:\.\w+)?(?![\w`])")

_SIGNS = {"exclusiveMinimum": ">", "minimum": "≥", "exclusiveMaximum": "<", "maximum": "≤"}


def limits_text(column: Column) -> str:
    """Return the range of a column's values, such as ``> 0, ≤ 1000`` or ``1 to 80 characters``."""
    limits = column.limits
    parts = [f"{sign} {limits[name]:.15g}" for name, sign in _SIGNS.items() if name in limits]
    if "maxLength" in limits:
        parts.append(f"{limits.get('minLength', 0)} to {limits['maxLength']} characters")
    return ", ".join(parts)


def rules_text(table: Table) -> str:
    """Return a table's rules as one sentence; a rule may itself end in a question."""
    text = "; ".join(table.rules)
    return text if text.endswith("?") else f"{text}."


def pieces(text: str) -> list[tuple[str, bool]]:
    """Split a text into pieces, each with whether it is a name from the tables, to be set as code.

    >>> pieces("Basis that grammage_basis names.")
    [('Basis that ', False), ('grammage_basis', True), (' names.', False)]
    """
    found: list[tuple[str, bool]] = []
    end = 0
    for match in _NAME.finditer(text):
        found += [(text[end : match.start()], False), (match[0], True)]
        end = match.end()
    return [piece for piece in [*found, (text[end:], False)] if piece[0]]
