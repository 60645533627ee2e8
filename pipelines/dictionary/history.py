"""The changes of the published tables, from schemas/marts/changes.toml, and the versions that follow from them."""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable

FOLDER: Traversable = files("schemas.marts")
"""Where the changes stand, and the listing of what is published."""


@dataclass(frozen=True)
class Change:
    """A change of a published table: the versions of contract and table that it began with, and what it is."""

    contract: int
    table: str
    version: int
    note: str
    retired: bool = False


def changes(folder: Traversable = FOLDER) -> tuple[Change, ...]:
    """Return every change since the tables were first published, the oldest first."""
    text = (folder / "changes.toml").read_text(encoding="utf-8")
    return tuple(Change(**entry) for entry in tomllib.loads(text).get("change", []))


def versions(history: Iterable[Change]) -> dict[str, int]:
    """Return the version of each table that has changed; every other one is at version 1."""
    return {change.table: change.version for change in history}


def contract_version(history: Iterable[Change]) -> int:
    """Return the version of the published tables as a whole, which every change raises."""
    return max((change.contract for change in history), default=1)
