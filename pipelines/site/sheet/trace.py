"""Every record of a sheet as tables: imported values, status, verdict on the atmosphere, file and line."""

import json
import shlex
from datetime import datetime, tzinfo
from functools import cache
from typing import Any, NamedTuple

from pipelines.dictionary.declared import columns_of, sql_type
from pipelines.site import labels
from pipelines.site.figures import Row
from pipelines.site.reading import Published, Rows, distinct
from pipelines.site.tables import Column
from schemas.columns import quantity_of
from schemas.records import STORED
from schemas.records.record import values_of

ADDRESS = Column("address", "File and line")
STATUS = Column("status", "Status", long=True)
ATMOSPHERE = Column("atmosphere", "Atmosphere", long=True)

FILE_COLUMNS = [
    Column("file_name", "File"),
    Column("record", "Records"),
    Column("profile", "Export profile"),
    Column("encoding", "Encoding"),
    Column("changed_at_utc", "Last changed"),
    Column("received_night", "First run"),
    Column("file_hash", "SHA-256"),
]

_STATUSES = {
    "loaded": "imported",
    "repeated": "repeats another line",
    "held": "on hold: contradicts another record of the sheet",
}


class Kind(NamedTuple):
    """The records of one kind: its heading, its table's columns and rows of cells."""

    heading: str
    columns: list[Column]
    rows: list[dict[str, str]]


def with_values(record: Row, zone: tzinfo) -> Row:
    """Return a row of the statement ``sheet_record`` with its values parsed from JSON and its times in ``zone``."""
    values: Row = json.loads(record["values_json"])
    times = {
        name: datetime.fromisoformat(text) for name, text in values.items() if name.endswith("_utc") and text
    }
    reason = record["reason"] and labels.localized(record["reason"], zone)
    return (
        record
        | values
        | {name: labels.local(time, zone) for name, time in times.items()}
        | {"reason": reason}
    )


def loaded(records: Rows, kind: str) -> Rows:
    """Return the records of a kind that are in use: without repeated, superseded and excluded ones."""
    return [row for row in records if row["kind"] == kind and row["record_status"] == "loaded"]


def by_kind(records: Rows, files: dict[str, Row]) -> list[Kind]:
    """Return the tables of a sheet's records; ``files`` are rows of the statement ``sheet_file`` by their hash."""
    return [_kind(kind, records, files) for kind in distinct(records, "kind")]


def columns_with_values(kind: str, records: Rows) -> list[Column]:
    """Return the columns of a kind in which any of the records has a value."""
    return [column for column in _value_columns(kind) if any(row[column.name] is not None for row in records)]


def files_of(published: Published, records: Rows) -> Rows:
    """Return the files of the records and of those that superseded them, by name."""
    hashes = distinct(records, "file_hash")
    later = [row["superseded_by"].rpartition(":")[0] for row in records if row["superseded_by"]]
    found = [
        row
        for file_hash in dict.fromkeys([*hashes, *later])
        for row in published.of("sheet_file", file_hash=file_hash)
    ]
    return sorted(found, key=lambda row: (row["file_name"], row["file_hash"]))  # fmt: skip


def command(sheet_id: str) -> str:
    """Return the command that shows the trace of a sheet, its number quoted for a shell."""
    end_of_options = "-- " if sheet_id.startswith("-") else ""
    return f"sheetlore trace {end_of_options}{shlex.quote(sheet_id)}"


def _kind(kind: str, records: Rows, files: dict[str, Row]) -> Kind:
    selected = [row for row in records if row["kind"] == kind]
    columns = columns_with_values(kind, selected)
    decimals = {
        column.name: labels.all_decimals(record[column.name] for record in selected)
        for column in columns
        if any(isinstance(record[column.name], float) for record in selected)
    }
    rows = [
        {column.name: _text(record[column.name], decimals.get(column.name)) for column in columns}
        | {
            "address": _address(files, record["file_hash"], record["line_number"]),
            "status": _status(record, files),
            "atmosphere": _atmosphere(record),
        }
        for record in selected
    ]
    extra = [STATUS, ATMOSPHERE] if any(record["verdict"] for record in selected) else [STATUS]
    not_in_use = sum(record["record_status"] != "loaded" for record in selected)
    rest = f", {labels.number(not_in_use)} not in use" if not_in_use else ""
    heading = f"{labels.words(kind)}: {labels.counted(len(selected), 'record')}{rest}"
    return Kind(heading, [ADDRESS, *columns, *extra], rows)


def _address(files: dict[str, Row], file_hash: str, line: Any) -> str:
    name = files[file_hash]["file_name"] if file_hash in files else f"file {file_hash[:12]}"
    return f"{name}, line {line}"


def _status(record: Row, files: dict[str, Row]) -> str:
    if record["record_status"] != "superseded":
        return _STATUSES[record["record_status"]]
    if not record["superseded_by"]:
        return "superseded"
    file_hash, _, line = record["superseded_by"].rpartition(":")
    return f"superseded by {_address(files, file_hash, line)}"


def _atmosphere(record: Row) -> str:
    if record["verdict"] is None:
        return labels.MISSING
    verdict = record["verdict"].replace("_", " ")
    return f"{verdict}: {record['reason']}" if record["reason"] else verdict


def _text(value: Any, decimals: int | None) -> str:
    """Return an imported value: numbers with all their digits and the decimals of the column, times to the minute."""
    if value is None:
        return labels.MISSING
    if decimals is not None:
        return labels.fixed(value, decimals)
    return labels.moment(value) if isinstance(value, datetime) else str(value)


@cache
def _value_columns(kind: str) -> list[Column]:
    """Return the columns of a kind's own values, without the points of raw curves, which are drawn."""
    declared = columns_of(STORED[kind])
    columns = []
    for name in values_of(STORED[kind]):
        if name == "sheet_id" or sql_type(declared[name]).endswith("[]"):
            continue
        unit = (declared[name].metadata or {}).get("unit")
        heading = labels.with_unit(labels.words(quantity_of(name, unit)), unit)
        columns.append(Column(name, heading, number=unit not in (None, "UTC"), long=name == "note"))
    return columns
