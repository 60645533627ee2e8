"""The documents of a snapshot: dictionary and contract, written beside the snapshots they describe."""

import os
from pathlib import Path

from pipelines.dictionary.contract import contract
from pipelines.dictionary.declared import Formula, published_tables, record_tables
from pipelines.dictionary.history import changes
from pipelines.dictionary.markdown import dictionary
from schemas.properties import cached_by_registry

DICTIONARY = "dictionary.md"
CONTRACT = "contract.odcs.yaml"


def write(published: Path, formulas: tuple[Formula, ...]) -> None:
    """Write the Markdown dictionary and the contract into ``published/``; unchanged files are not rewritten."""
    for name, text in _texts(formulas):
        _write(published / name, text)


@cached_by_registry
def _texts(formulas: tuple[Formula, ...]) -> tuple[tuple[str, str], ...]:
    """Return each document's name and text, which follow from the declarations alone."""
    tables, records, history = published_tables(), record_tables(), changes()
    return (
        (DICTIONARY, dictionary(tables, records, formulas, history)),
        (CONTRACT, contract(tables, records, history)),
    )


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
