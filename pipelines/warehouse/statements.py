"""Reading the SQL files: one statement to a file, named by its folder and its own name."""

import hashlib
import re
from graphlib import TopologicalSorter
from importlib.resources import files
from importlib.resources.abc import Traversable

from pipelines.dictionary.declared import Formula
from pipelines.warehouse import property_sql, record_sql
from schemas.properties import cached_by_registry

NO_MODELS = frozenset({"macros", "records", "fitted", "checks", "pages", "__pycache__"})
"""The folders of sql that hold no models."""

_SIGNATURE = re.compile(r"MACRO (?P<name>\w+)\((?P<parameters>.*?)\) AS\s", re.S)


def _root() -> Traversable:
    return files("sql")


@cached_by_registry
def statement(name: str) -> str:
    """Return the text of a statement, such as ``forming/sheet`` for sql/forming/sheet.sql.

    Lists in it, and the macros of made properties, come from the registry of properties and the kinds of record.
    """
    folder, _, stem = name.partition("/")
    if folder == "macros" and stem in property_sql.macros():
        return property_sql.macros()[stem]
    text = (_root() / f"{name}.sql").read_text(encoding="utf-8")
    for placeholder, sql in (property_sql.lists() | record_sql.lists()).items():
        text = text.replace(placeholder, sql)
    return text


@cached_by_registry
def names(folder: str) -> tuple[str, ...]:
    """Return the names of a folder's statements in alphabetical order, such as ``forming/layer``."""
    files_of_folder = (_root() / folder).iterdir()
    found = {entry.name.removesuffix(".sql") for entry in files_of_folder if entry.name.endswith(".sql")}
    if folder == "macros":
        found |= property_sql.macros().keys()
    return tuple(f"{folder}/{name}" for name in sorted(found))


def header(text: str) -> str:
    """Return the comment at the head of a statement, without its comment marks."""
    lines = []
    for line in text.splitlines():
        if not line.startswith("--"):
            break
        lines.append(line.removeprefix("--").strip())
    return "\n".join(lines)


def inputs(name: str) -> frozenset[str]:
    """Return the tables that the head of a statement declares as its inputs, such as ``main.sheet``."""
    declared = header(statement(name)).partition("Inputs:")[2]
    return frozenset(re.findall(r"\w+\.\w+", declared))


@cached_by_registry
def models() -> tuple[str, ...]:
    """Return the names of all models and marts, each after those that it reads."""
    folders = sorted({entry.name for entry in _root().iterdir() if entry.is_dir()} - NO_MODELS)
    found = [name for folder in folders for name in names(folder)]
    table_of = {name: name.replace("marts/", "main/").replace("/", ".") for name in found}
    reads = {name: [other for other in found if table_of[other] in inputs(name)] for name in found}
    return tuple(TopologicalSorter(reads).static_order())


@cached_by_registry
def formulas() -> tuple[Formula, ...]:
    """Return what the macros say of themselves in their heads, in alphabetical order."""
    found = []
    for name in names("macros"):
        text, _, source = " ".join(header(statement(name)).split()).partition(" Source: ")
        signature = _SIGNATURE.search(statement(name))
        if signature is None:
            raise ValueError(f"sql/{name}.sql creates no macro")
        parameters = tuple(parameter.strip() for parameter in signature["parameters"].split(","))
        found.append(Formula(signature["name"], parameters, text, source.removesuffix(".")))
    return tuple(found)


@cached_by_registry
def fingerprint() -> str:
    """Return a digest that changes when any statement does."""
    digest = hashlib.sha256()
    for folder in sorted(entry.name for entry in _root().iterdir() if entry.is_dir()):
        for name in names(folder):
            digest.update(name.encode() + b"\0" + statement(name).encode() + b"\0")
    return digest.hexdigest()
