"""The data contract: what a snapshot holds, for programs, as Open Data Contract Standard 3.2.0.

The standard has no place for units of measurement and for sources without an address. They stand in custom
properties: ``ucumCode`` and ``source``.
"""

from collections.abc import Iterable
from typing import Any

import yaml

from pipelines.dictionary.declared import Column, Table
from pipelines.dictionary.history import Change, contract_version

STANDARD = "v3.2.0"

_LOGICAL_TYPES = {
    "VARCHAR": "string",
    "DOUBLE": "number",
    "BIGINT": "integer",
    "BOOLEAN": "boolean",
    "TIMESTAMP": "timestamp",
    "DOUBLE[]": "array",
}

_HEAD: dict[str, Any] = {
    "apiVersion": STANDARD,
    "kind": "DataContract",
    "id": "sheetlore-snapshot",
    "name": "Snapshot of a sheet laboratory's trial warehouse",
}

_DESCRIPTION = {
    "purpose": (
        "Sheets made on a centrifugal sheet former, their forming, pressing and drying, and their test results: "
        "one set of units, one grammage basis, every value traceable to the line of the file it came from."
    ),
    "usage": (
        "Open the DuckDB file read-only, or read the Parquet files; each run that changes something "
        "rebuilds both. Units are UCUM codes. Points in time are in UTC."
    ),
    "limitations": (
        "Tables of schema main keep their columns, with type and unit, as long as they keep their name; columns are "
        "added, and changes raise the version. Tables of schema records follow the kinds of record and may change; "
        "they have no Parquet files."
    ),
}

_DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
"""The dumper in C, where PyYAML was built with it: four times as quick, and the text is the same."""

_SERVERS = [
    {
        "server": "snapshot",
        "type": "duckdb",
        "description": "The newest snapshot, beside this contract.",
        "database": "latest/sheetlore.duckdb",
    },
    {
        "server": "parquet",
        "type": "local",
        "description": "A file for each table of schema main, under the table's name, beside this contract.",
        "path": "latest/*.parquet",
        "format": "parquet",
    },
]


def contract(published: Iterable[Table], records: Iterable[Table], changes: Iterable[Change]) -> str:
    """Return the contract as YAML; the same declarations give the same text."""
    document = {
        **_HEAD,
        "version": str(contract_version(changes)),
        "status": "active",
        "description": _DESCRIPTION,
        "servers": _SERVERS,
        "schema": [_object(table) for table in (*published, *records)],
    }
    return yaml.dump(document, Dumper=_DUMPER, sort_keys=False, allow_unicode=True, width=110)


def _object(table: Table) -> dict[str, Any]:
    return _without_empty(
        {
            "id": table.full_name.replace(".", "_"),
            "name": table.full_name,
            "physicalName": f"{table.schema}.{table.name}",
            "physicalType": "table",
            "logicalType": "object",
            "description": " ".join(filter(None, (table.grain, table.remark))),
            "dataGranularityDescription": table.grain,
            "customProperties": _custom(version=table.version),
            "properties": [_property(column) for column in table.columns],
            "quality": [{"type": "text", "description": rule} for rule in table.rules],
        }
    )


def _property(column: Column) -> dict[str, Any]:
    return _without_empty(
        {
            "id": column.name,
            "name": column.name,
            "physicalName": column.name,
            **_types(column),
            "required": not column.nullable,
            "description": column.description,
            "enum": [{"value": value} for value in column.allowed],
            "customProperties": _custom(
                ucumCode=None if column.unit == "UTC" else column.unit, source=column.source
            ),
        }
    )


def _types(column: Column) -> dict[str, Any]:
    types: dict[str, Any] = {
        "logicalType": _LOGICAL_TYPES[column.sql_type],
        "logicalTypeOptions": dict(column.limits),
        "physicalType": column.sql_type,
    }
    if column.sql_type == "TIMESTAMP":
        types["logicalTypeOptions"] |= {"timezone": False, "defaultTimezone": "Etc/UTC"}
    if column.sql_type.endswith("[]"):
        element = column.sql_type.removesuffix("[]")
        types["items"] = {"logicalType": _LOGICAL_TYPES[element], "physicalType": element}
    return types


def _custom(**values: Any) -> list[dict[str, Any]]:
    return [{"property": name, "value": value} for name, value in values.items() if value is not None]


def _without_empty(entries: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in entries.items() if value not in ([], {})}
