"""A small laboratory for tests of faults: a few exports through the shipped profiles, and looking at its tables."""

import math
import os
import shutil
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from pipelines.settings import Laboratory
from pipelines.warehouse.connection import reading, working
from pipelines.warehouse.pointer import latest_snapshot
from schemas.marts import marts as published

SETTINGS = """\
[laboratory]
time_zone = "Europe/Helsinki"

[atmosphere]
admitted = ["standard", "off_standard", "unverified"]

[publishing]
page = false

[intake]
quiet_seconds = 0
"""
WRITTEN = datetime(2026, 9, 10, tzinfo=UTC)
SHEETS = ("A-1", "A-2", "B-1")

FORMING_HEADER = (
    "Sheet", "Trial", "Point", "Layer", "Formed", "Tank", "Furnish", "Consistency %", "Stock L", "Flow L/min",
    "Wire m/min", "Bore mm", "Nozzles", "Angle deg", "Sweeps", "Water wall L", "Dewatering s", "Compaction m/min",
    "Fabric", "Settings", "Version", "Target g/m2", "Made by", "Remarks",
)  # fmt: skip


def forming_log(sheets: Iterable[str] = SHEETS, formed: str = "2026-09-01 08:00") -> bytes:
    """A forming log, a layer for each sheet; the point is the sheet's letter."""
    lines = ["\t".join(FORMING_HEADER)]
    for sheet in sheets:
        layer = (
            sheet, "T1", sheet[0], "1", formed, "K1", "F1", "0.30", "4.2", "6.0", "1000", "1.5", "2", "0", "40",
            "2", "60", "1400", "fine", "R1", "1", "60", "", "",
        )  # fmt: skip
        lines.append("\t".join(layer))
    return ("\n".join(lines) + "\n").encode("utf-8-sig")


def strips(*rows: str) -> bytes:
    """Tensile tests in SI units: rows of sheet, cut, strip number and force in N."""
    lines = [
        "Series 1", "Operator: QX", "Width: 15,0 mm", "Free length: 100,0 mm", "Rate: 100 mm/min", "23 °C", "",
        "Sheet;Cut;Strip no.;Max. force;Elongation;Energy;Max. slope;Break from clamp;Date;Time;Remark",
        ";;;N;mm;mJ;N/mm;mm;;;",
    ]  # fmt: skip
    for row in rows:
        sheet, cut, strip, force = row.split()
        clock = f"10:{int(strip):02d}:{'00' if cut == 'along' else '30'}"
        lines.append(f"{sheet};{cut};{strip};{force};2,4;105,0;70,0;45;02.09.2026;{clock};ok")
    return ("\r\n".join([*lines, "Mean;;;50,0;;;;;;;"]) + "\r\n").encode("cp1252")


def weights(*rows: str) -> bytes:
    """Weighed pieces: rows of sheet, piece and mass in g."""
    lines = [
        "Weights",
        "Weighed by QX",
        "",
        "Sheet;Piece;Mass;Side 1;Side 2;Condition;Date;Time",
        ";;g;mm;mm;;;",
    ]
    for row in rows:
        sheet, piece, mass = row.split()
        lines.append(f"{sheet};{piece};{mass};200;250;climate room;02.09.2026;09:{int(piece):02d}:00")
    return ("\r\n".join(lines) + "\r\n").encode("cp1252")


def calipers(*rows: str) -> bytes:
    """Thickness readings in mils: rows of sheet, reading and mils."""
    lines = ["Series,Number,Caliper mil,Foot psi,Reading,Plies,Measured at,Measured by"]
    for row in rows:
        sheet, place, mils = row.split()
        series, _, number = sheet.partition("-")
        lines.append(f"{series},{number},{mils},14.5,{place},1,2026-09-02T09:3{place}:00+03:00,QX")
    return ("\n".join(lines) + "\n").encode()


def first_exports() -> dict[str, bytes]:
    """The exports of the first run by name, in the order in which they were written."""
    return {
        "log.txt": forming_log(),
        "weights.csv": weights(*(f"{sheet} {piece} 3,{piece}50" for sheet in SHEETS for piece in (1, 2))),
        "calipers.csv": calipers(*(f"{sheet} {place} 3.{place}" for sheet in SHEETS for place in (1, 2))),
        "strips 1.csv": strips(
            *(f"{sheet} along {strip} 6{strip},5" for sheet in SHEETS for strip in (1, 2, 3))
        ),
        "strips 2.csv": strips(
            *(f"{sheet} across {strip} 3{strip},5" for sheet in SHEETS for strip in (1, 2))
        ),
    }


def second_exports() -> dict[str, bytes]:
    """The exports of the next day: a correction, an overlap, a row to be held, a file that is not an export."""
    return {
        "weights corrected.csv": weights("A-1 1 3,175", "A-1 2 3,250"),
        "strips 3.csv": strips("A-1 along 3 63,5", "A-1 along 4 64,5", "B-1 along 4 -1", "C-1 along 1 50,0"),
        "notes.csv": b"call the mill\n",
    }


def make(root: Path, exports: dict[str, bytes] | None = None) -> Laboratory:
    """Make a laboratory with some exports in its inbox."""
    laboratory = Laboratory(root)
    for folder in (laboratory.inbox, laboratory.exports):
        folder.mkdir(parents=True)
    laboratory.settings_file.write_text(SETTINGS, encoding="utf-8")
    for hours, (name, data) in enumerate((exports or {}).items()):
        put(laboratory, name, data, hours)
    return laboratory


def put(laboratory: Laboratory, name: str, data: bytes, hours: float = 0) -> Path:
    """Put an export into the inbox, written some hours after the first one."""
    path = laboratory.inbox / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    written = (WRITTEN + timedelta(hours=hours)).timestamp()
    os.utime(path, (written, written))
    return path


def put_second(laboratory: Laboratory) -> None:
    """Put the second run's exports into the inbox."""
    for hours, (name, data) in enumerate(second_exports().items()):
        put(laboratory, name, data, 24 + hours)


def copy(laboratory: Laboratory, root: Path) -> Laboratory:
    """Copy a laboratory with its runs, so that tests do not affect each other."""
    return Laboratory(shutil.copytree(laboratory.root, root))


Table = tuple[tuple[str, ...], list[tuple[Any, ...]]]
Tables = dict[str, Table]
OF_THE_RUN = ("received_night", "read_night")


def marts(laboratory: Laboratory) -> Tables:
    """Return the published tables, sorted, without the columns that name the run."""
    with reading(latest_snapshot(laboratory.published)) as connection:
        return {
            mart: _in_order(connection.execute(f"SELECT * EXCLUDE ({', '.join(left_out)}) FROM {mart}"))
            if (left_out := [name for name in OF_THE_RUN if name in model.to_schema().columns])
            else _in_order(connection.execute(f"FROM {mart}"))
            for mart, model in published().items()
            if mart != "night"
        }


def everything(laboratory: Laboratory) -> Tables:
    """Return every table of the warehouse, sorted."""
    with working(laboratory.warehouse) as connection:
        names = connection.execute(
            "SELECT schema_name || '.' || table_name FROM duckdb_tables() ORDER BY ALL"
        ).fetchall()
        return {name: _in_order(connection.execute(f"FROM {name}")) for (name,) in names}


def _in_order(cursor: Any) -> Table:
    columns = tuple(column[0] for column in cursor.description)
    return columns, sorted(
        cursor.fetchall(), key=lambda row: [f"{v:.9g}" if isinstance(v, float) else str(v) for v in row]
    )


def differences(one: Tables, other: Tables) -> list[str]:
    """Say where tables differ: counts and texts exactly, numbers in their first 12 digits."""
    found = [f"only in one: {name}" for name in one.keys() ^ other.keys()]
    for name in one.keys() & other.keys():
        (columns, rows), (other_columns, other_rows) = one[name], other[name]
        if columns != other_columns or len(rows) != len(other_rows):
            found.append(f"{name}: {len(rows)} rows of {columns}, {len(other_rows)} rows of {other_columns}")
            continue
        for row, other_row in zip(rows, other_rows, strict=True):
            found += [
                f"{name}.{column}: {value!r} and {other_value!r}"
                for column, value, other_value in zip(columns, row, other_row, strict=True)
                if not _same(value, other_value)
            ]
    return found


def _same(value: Any, other: Any) -> bool:
    if isinstance(value, float) and isinstance(other, float):
        return math.isclose(value, other, rel_tol=1e-12, abs_tol=1e-12)
    return value == other


def rows(laboratory: Laboratory, query: str) -> list[tuple[Any, ...]]:
    """The rows of a query on the latest snapshot."""
    with reading(latest_snapshot(laboratory.published)) as connection:
        return connection.execute(query).fetchall()
