"""The properties of a sheet as tables: by direction, of the whole sheet, and with all their numbers."""

from collections.abc import Sequence

from pipelines.site import labels
from pipelines.site.figures import Row
from pipelines.site.reading import Rows, distinct
from pipelines.site.tables import Column, Measured, aligned, measured

Cells = dict[str, str | Measured]

DIRECTIONS = ("MD", "CD", "GM", "MD/CD")

MATRIX_COLUMNS = [
    Column("property", "Property"),
    Column("MD", "MD", number=True),
    Column("n_MD", "n", number=True),
    Column("CD", "CD", number=True),
    Column("n_CD", "n", number=True),
    Column("GM", "Geometric mean", number=True),
    Column("MD/CD", "MD/CD", number=True),
    Column("remarks", "Remarks", long=True),
]
WHOLE_COLUMNS = [
    Column("property", "Property"),
    Column("value", "Value", number=True),
    Column("n", "n", number=True),
    Column("made_with", "Basis, conditions"),
    Column("remarks", "Remarks", long=True),
]
DETAIL_COLUMNS = [
    Column("property", "Property"),
    Column("direction", "Direction"),
    Column("value", "Value ± U", number=True),
    Column("unit", "Unit"),
    Column("n", "n", number=True),
    Column("n_left_out", "Left out", number=True),
    Column("s", "s", number=True),
    Column("cv_pct", "CV, %", number=True),
    Column("interval", "95 % interval", number=True),
    Column("made_with", "Basis, conditions"),
    Column("uncertainty_of", "Uncertainty of", long=True),
    Column("remarks", "Remarks", long=True),
]


def matrix(properties: Rows) -> list[Cells]:
    """Return one row per property with directions: its value with uncertainty, and n, in each direction."""
    directed = [row for row in properties if row["is_main"] and row["direction"]]
    rows: list[Cells] = []
    values: dict[str, list[tuple[str, str] | None]] = {direction: [] for direction in DIRECTIONS}
    for name in sorted(distinct(directed, "property"), key=_place):
        of = {row["direction"]: row for row in directed if row["property"] == name}
        for direction, column in values.items():
            column.append(_with_uncertainty(of.get(direction)))
        counts = {f"n_{direction}": _count(of.get(direction)) for direction in ("MD", "CD")}
        remarks = "; ".join(
            f"{direction}: {text}" for direction in ("MD", "CD") if (text := _remarks(of.get(direction)))
        )
        rows.append({"property": labels.property_label(name), "remarks": remarks, **counts})
    for direction, column in values.items():
        _put(rows, direction, column)
    return rows


def whole(properties: Rows) -> list[Cells]:
    """Return one row per property of the whole sheet."""
    of_sheet = [
        row
        for row in sorted(properties, key=lambda row: _place(row["property"]))
        if row["is_main"] and not row["direction"]
    ]
    rows: list[Cells] = [
        {
            "property": labels.property_label(row["property"]),
            "n": _count(row),
            "made_with": _made_with(row),
            "remarks": _remarks(row),
        }
        for row in of_sheet
    ]
    return _put(rows, "value", [_with_uncertainty(row) for row in of_sheet])


def details(properties: Rows) -> list[Cells]:
    """Return one row per property, direction, basis, pressure and assumption with all its numbers."""
    ordered = sorted(properties, key=_detail_place)
    rows: list[Cells] = aligned(ordered, ("cv_pct",), _detail)
    return _put(rows, "value", [_with_uncertainty(row) for row in ordered])


def _put(rows: list[Cells], name: str, column: Sequence[tuple[str, str] | None]) -> list[Cells]:
    """Put a column of values and uncertainties into rows; return them."""
    for row, value in zip(rows, measured(column), strict=True):
        row[name] = value
    return rows


def _detail(row: Row) -> dict[str, str]:
    low, high, s = row["interval_low"], row["interval_high"], row["s"]
    uncertainty = row["standard_uncertainty"]
    return {
        "property": labels.words(row["property"]),
        "direction": row["direction"] or "",
        "unit": labels.unit_text(row["unit"]),
        "s": labels.rounded(s, s),
        "interval": labels.MISSING
        if low is None
        else f"{labels.rounded(low, uncertainty)} to {labels.rounded(high, uncertainty)}",
        "made_with": _made_with(row),
        "uncertainty_of": (row["uncertainty_of"] or "").replace(",", ", "),
        "remarks": _remarks(row),
    }


def _with_uncertainty(row: Row | None) -> tuple[str, str] | None:
    """Return a value and its expanded uncertainty to the second digit of the standard one; "" without one."""
    if row is None or row["value"] is None:
        return None
    standard, expanded = row["standard_uncertainty"], row["expanded_uncertainty"]
    return labels.rounded(row["value"], standard), labels.rounded(expanded, standard) if expanded else ""


def _count(row: Row | None) -> str:
    return labels.number(row["n"]) if row else labels.MISSING


def _remarks(row: Row | None) -> str:
    """Return remarks on a value: readings left out, flags, and a verdict other than standard."""
    if row is None:
        return ""
    flags = [flag.strip() for flag in (row["flags"] or "").split(",") if flag.strip() != "readings_left_out"]
    remarks = [f"{labels.number(row['n_left_out'])} left out"] if row["n_left_out"] else []
    remarks += [flag.replace("_", " ") for flag in flags if flag]
    if row["atmosphere_verdict"] not in (None, "standard"):
        remarks.append(row["atmosphere_verdict"].replace("_", " "))
    return ", ".join(remarks)


def _made_with(row: Row) -> str:
    pressure = None if row["pressure_kpa"] is None else f"{row['pressure_kpa']:g} kPa"
    basis = row["basis"] and row["basis"].replace("_", " ")
    return ", ".join(filter(None, [basis, pressure, row["conditions"], row["assumption"]]))


def _place(name: str) -> int:
    known = labels.properties()
    return known.index(name) if name in known else len(known)


def _detail_place(row: Row) -> tuple[bool, int, int]:
    direction = row["direction"]
    return bool(direction), _place(row["property"]), DIRECTIONS.index(direction) if direction else 0
