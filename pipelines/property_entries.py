"""Loading the registry of properties that a laboratory has: the shipped entries and those of its own files."""

import re
from collections.abc import Iterator
from pathlib import Path

from pydantic import create_model

from pipelines.errors import SettingsError
from pipelines.toml_files import checked, nearest, read_toml
from schemas.properties import RAW_UNITS, SHEET_LEVEL, Property, Registry, shipped


def load_registry(folder: Path) -> Registry:
    """Return the shipped registry with the entries of a laboratory's TOML files, which replace those of the same name.

    Raises SettingsError that names the file, the entry and the key, for all faulty files at once.
    """
    paths = sorted(folder.glob("*.toml")) if folder.is_dir() else []
    own: dict[str, Property] = {}
    file_of: dict[str, Path] = {}
    faults: list[str] = []
    for path in paths:
        try:
            for name, entry in _entries(path).items():
                if name in own:
                    faults.append(f"{path}: {name}: {file_of[name]} has this entry too; keep one")
                own[name], file_of[name] = entry, path
        except SettingsError as error:
            faults.append(str(error))
    if faults:
        raise _wrong(faults)
    if not own:
        return shipped()
    entries = {**shipped(), **own}
    faults = [f"{file_of[name]}: {name}.{problem}" for name in own for problem in problems(name, entries)]
    if faults:
        raise _wrong(faults)
    return Registry(entries)


def _wrong(faults: list[str]) -> SettingsError:
    return SettingsError("\n".join(faults), "Correct the properties and run again; nothing was changed.")


def _entries(path: Path) -> dict[str, Property]:
    """Return the entries of one file."""
    data = read_toml(path)
    for name, keys in data.items():
        if not re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", name):
            raise SettingsError(
                f"{path}: {name}: the name of a property has small letters, digits and single underscores, for "
                "example tear_index"
            )
        if not isinstance(keys, dict):
            raise SettingsError(f"{path}: {name}: an entry is a table; write [name] above its keys")
        if "name" in keys:
            raise SettingsError(f"{path}: {name}.name: remove this key; the name is in brackets above it")
    fields = dict.fromkeys(data, (Property, ...))
    named = {name: {"name": name, **keys} for name, keys in data.items()}
    file = checked(create_model("File", **fields), named, path)  # type: ignore[call-overload]
    return {name: getattr(file, name) for name in data}


def problems(name: str, entries: dict[str, Property]) -> Iterator[str]:
    """Yield what is wrong with an entry among all entries: the key and the problem."""
    entry = entries[name]
    if unknown := [other for other in entry.powers if other not in entries]:
        yield f"powers.{unknown[0]}: unknown property{nearest(unknown[0], list(entries))}"
        return
    if unknown := [quantity for quantity in entry.raw if quantity not in RAW_UNITS]:
        yield f"raw.{unknown[0]}: unknown quantity{nearest(unknown[0], list(RAW_UNITS))}"
    if not re.fullmatch(r"[A-Za-z0-9%.{}\[\]-]+(/[A-Za-z0-9.]+)*", entry.unit):
        yield f"unit: {entry.unit!r} is not a UCUM code such as 'mN.m2/g' or '1'"
    if entry.powers:
        yield from _problems_of_made(entry, entries)
    else:
        yield from _problems_of_measured(entry)
    for key in ("limits", "plausible"):
        limits = getattr(entry, key)
        if limits and limits[0] >= limits[1]:
            yield f"{key}: the first number must be less than the second"


_READ_BY = ("further", "stock", "tensile")

_OF_MEASURED = (
    "readings",
    "direction",
    "sided",
    "mean",
    "standard_atmosphere",
    "never_pooled",
    "instrument",
    "raw",
    "limits",
)
"""Keys that only a measured property has; a made one has them from what it is made of."""


def _problems_of_made(entry: Property, entries: dict[str, Property]) -> Iterator[str]:
    for key in _OF_MEASURED:
        if key in entry.stated():
            yield f"{key}: remove this key; a property with powers has it from what it is made of"
    above = {entry.name}
    names = list(entry.powers)
    while names:
        name = names.pop()
        if name in above:
            yield f"powers.{name}: the property is made of itself"
            return
        names += entries[name].powers
    base = Registry(entries)[entry.name].base_powers
    averaged = [name for name in base if entries[name].readings]
    if any(entries[name].readings == "stock" for name in averaged):
        yield "powers: a property of a sheet cannot be made of one of stock"
    if len(averaged) > 1:
        yield (
            f"powers: both {averaged[0]} and {averaged[1]} are means of readings; the mean of a product is not the "
            "product of the means"
        )
    for name in averaged:
        if base[name] != 1 and entries[name].mean != "logarithmic":
            yield f"powers.{name}: the mean of a power is the power of the mean only with mean = 'logarithmic'"
    for name in base:
        if not entries[name].readings and name not in SHEET_LEVEL:
            yield f"powers.{name}: a property can be made of readings, {' and '.join(SHEET_LEVEL)}"


def _problems_of_measured(entry: Property) -> Iterator[str]:
    if entry.readings is None and entry.name not in shipped():
        yield "readings: write readings = 'further', or give powers of other properties"
    elif entry.readings not in (None, *_READ_BY):
        yield f"readings: unknown kind of record {entry.readings!r}{nearest(entry.readings, list(_READ_BY))}"
    if entry.readings in ("further", "stock") and entry.limits is None:
        yield "limits: is missing; give the lowest and the highest possible value of a reading, such as [0, 500]"
    if entry.mean == "circular" and entry.unit != "deg":
        yield "mean: only angles in deg have a circular mean"
    if entry.mean == "logarithmic" and entry.limits and entry.limits[0] <= 0:
        yield "limits: a logarithmic mean needs values above 0"
