"""The SQL that follows from the registry of properties: one macro per made property, and lists in models.

Where a model needs such a list it holds a placeholder, a key of ``lists``; so adding a property changes no model. Only
names, units and numbers of the registry are put in.
"""

from collections.abc import Callable, Iterator

from schemas.names import GRAMMAGE_BASES, NEVER_POOLED
from schemas.properties import INSTRUMENT, SHEET_LEVEL, Property, cached_by_registry, registry

_PARTS = ("md", "cd", "geometric_mean")


@cached_by_registry
def macros() -> dict[str, str]:
    """Return the statement that creates the macro of each made property, by the macro's name."""
    return {entry.column_name(): _macro(entry) for entry in registry().values() if entry.formula}


def _macro(entry: Property) -> str:
    label = entry.name.replace("_", " ").capitalize()
    return (
        f"-- {label} in {entry.unit}: {entry.description[0].lower()}{entry.description[1:]}\n"
        f"-- Source: {entry.source}.\n"
        f"CREATE OR REPLACE MACRO {entry.column_name()}({', '.join(entry.arguments)}) AS\n"
        f"    {entry.formula};\n"
    )


@cached_by_registry
def lists() -> dict[str, str]:
    """Return the text for each placeholder in a model."""
    return {
        "{properties}": _lines(_row(entry) for entry in registry().values()),
        "{wide_columns}": _lines(_wide_columns()),
        "{tensile_properties}": _texts(entry.name for entry in _measured("tensile")),
        "{tensile_columns}": ", ".join(entry.column_name() for entry in _measured("tensile")),
        "{never_pooled}": ", ".join(NEVER_POOLED),
        **{
            f"{{{table}_never_pooled}}": ", ".join(f"{table}.{name}" for name in NEVER_POOLED)
            for table in ("value", "counted", "mean")
        },
        "{made_piece_columns}": _lines(_made_columns()),
        "{piece_columns}": ", ".join(entry.column_name() for entry in registry().of_pieces),
        "{piece_properties}": ", ".join(
            f"{entry.column_name()} AS {entry.name}" for entry in registry().of_pieces
        ),
        "{sheet_columns}": _texts(_columns_of_sheets()),
        "{kind_of_mean}": _kind_of_mean(),
        "{is_signed}": f"(value.property IN ({_names(lambda entry: entry.direction == 'signed')}))",
        "{trial_point_columns}": _texts(_columns_with_spread()),
    }


def _row(entry: Property) -> str:
    """Return a property's row of ``value.property`` as a VALUES entry."""
    values = [
        _text(entry.name),
        _text(entry.unit),
        _text(_base(entry)),
        repr(entry.base_factor),
        _number(entry.base_powers.get(_base(entry), 1)),
        *(
            _number(None if entry.name == _base(entry) else entry.base_powers.get(name))
            for name in SHEET_LEVEL
        ),
        *(_number(entry.instrument_power(name)) for name in INSTRUMENT),
    ]
    return f"({', '.join(values)})"


def _kind_of_mean() -> str:
    """Return an expression for the kind of mean of a column ``property``."""
    logarithmic = _names(lambda entry: entry.mean == "logarithmic")
    circular = _names(lambda entry: entry.mean == "circular")
    return (
        f"CASE WHEN property IN ({logarithmic}) THEN 'logarithmic' "
        f"WHEN property IN ({circular}) THEN 'circular' ELSE 'arithmetic' END"
    )


def _names(holds: Callable[[Property], bool]) -> str:
    """Return the names of the properties whose readings have something, as texts."""
    return _texts(entry.name for entry in registry().values() if holds(entry.averaged or entry)) or "NULL"


def _columns_of_sheets() -> Iterator[str]:
    """Return the wide columns that the table sheet takes from the means of all properties."""
    for entry in registry().undirected:
        if entry.is_read_by("further"):
            yield entry.column_name()
    for name, _ in _directed_columns():
        yield name


def _measured(kind: str) -> list[Property]:
    """Return the properties that a kind of record measures."""
    return [entry for entry in registry().values() if entry.readings == kind]


def _base(entry: Property) -> str:
    """Return the property whose readings are averaged to this one, or ``sheet`` where only sheet-level means enter."""
    if entry.averaged:
        return entry.averaged.name
    return "sheet" if entry.powers or entry.name == "grammage" else entry.name


def _wide_columns() -> Iterator[str]:
    """Return each property and direction with its columns in wide tables, as VALUES entries."""
    for entry in registry().undirected:
        yield _wide(entry.name, None, entry.column_name(), entry.column_name("s"))
    for entry in registry().directed:
        for direction, (column, spread) in zip(("MD", "CD", "GM", "MD/CD"), _columns_of(entry), strict=True):
            yield _wide(entry.name, direction, column, spread)


def _wide(*values: str | None) -> str:
    return f"({', '.join(_text(value) for value in values)})"


def _made_columns() -> Iterator[str]:
    """Return the columns that made properties have for a test piece: each as settings choose, then on each basis."""
    for entry in registry().of_pieces:
        if not entry.formula:
            continue
        for basis in ((), *((basis,) for basis in GRAMMAGE_BASES)) if entry.has_basis else ((),):
            arguments = [
                registry()[name].column_name(*basis)
                if _has_basis(registry()[name])
                else registry()[name].column_name()
                for name in entry.powers
            ]
            yield f"{entry.column_name()}({', '.join(arguments)}) AS {entry.column_name(*basis)}"


def _has_basis(entry: Property) -> bool:
    return entry.has_basis or entry.name == "grammage"


def _directed_columns() -> Iterator[tuple[str, str]]:
    """Return wide columns of properties with a direction, each with the column of its standard deviation."""
    for entry in registry().directed:
        yield from _columns_of(entry)


def _columns_of(entry: Property) -> Iterator[tuple[str, str]]:
    """Return the wide columns of one property with a direction: MD, CD, geometric mean and ratio."""
    for part in _PARTS:
        yield entry.column_name(part), entry.column_name(part, "s")
    yield f"{entry.name}_md_cd_ratio", f"{entry.name}_md_cd_ratio_s"


def _columns_with_spread() -> Iterator[str]:
    for entry in registry().undirected:
        yield from (entry.column_name(), entry.column_name("s"))
    for pair in _directed_columns():
        yield from pair


def _lines(parts: Iterator[str]) -> str:
    return ",\n    ".join(parts)


def _texts(parts: Iterator[str]) -> str:
    return ", ".join(_text(part) for part in parts)


def _text(value: str | None) -> str:
    return "NULL" if value is None else "'" + value.replace("'", "''") + "'"


def _number(value: float | None) -> str:
    return "NULL" if value is None else repr(float(value))
