"""The documents of a snapshot: dictionary and contract, written beside the snapshots they describe."""

import os
from collections.abc import Iterable
from pathlib import Path

from pipelines.dictionary.contract import contract
from pipelines.dictionary.declared import Formula, published_tables, record_tables
from pipelines.dictionary.history import changes
from pipelines.dictionary.markdown import dictionary

DICTIONARY = "dictionary.md"
CONTRACT = "contract.odcs.yaml"


def write(published: Path, formulas: Iterable[Formula]) -> None:
    """Write the Markdown dictionary and the contract into ``published/``; a file that stands as it should is left."""
    tables, records, history = published_tables(), record_tables(), changes()
    _write(published / DICTIONARY, dictionary(tables, records, formulas, history))
    _write(published / CONTRACT, contract(tables, records, history))


def _write(path: Path, text: str) -> None:
    content = text.encode()
    if path.exists() and path.read_bytes() == content:
        return
    unfinished = path.with_suffix(f"{path.suffix}.unfinished")
    with unfinished.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    unfinished.replace(path)
