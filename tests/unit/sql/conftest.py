"""A warehouse in memory that a test fills with a few records and builds."""

from collections.abc import Iterator
from typing import Any

import duckdb
import pytest

from pipelines.settings import Settings
from pipelines.warehouse import building
from pipelines.warehouse.connection import working
from pipelines.warehouse.duplicate_resolution import set_setting
from pipelines.warehouse.loading import ensure_tables
from pipelines.warehouse.tables import create_table
from schemas.records import STORED
from schemas.records.record import ResolvedRecord

SETTING = Settings().for_snapshot() | {"admitted_verdicts": "standard,off_standard,unverified"}
"""The defaults, but with every test in means: most tests here are not about the atmosphere."""

DEFAULTS: dict[str, dict[str, Any]] = {
    "forming": {"sheet_id": "S1", "trial": "T1", "trial_point": "A", "layer_no": 1},
    "furnish": {"furnish": "F1", "component": "softwood"},
    "recipe": {"recipe": "R1", "recipe_version": "1"},
    "tank": {"tank": "K1", "event": "filled", "happened_at_utc": "2026-09-01 08:00:00"},
    "pressing": {"sheet_id": "S1", "pass_no": 1},
    "conditioning": {"sheet_id": "S1", "room": "R1", "in_at_utc": "2026-10-01 00:00:00"},
    "climate": {"room": "R1", "temperature_c": 23.0, "relative_humidity_pct": 50.0},
    "drying": {"sheet_id": "S1", "step_no": 1, "method": "plate"},
    "basis_weight": {"tester": "balance", "sheet_id": "S1", "specimen_no": 1, "state": "conditioned"},
    "moisture": {"tester": "balance", "sheet_id": "S1", "specimen_no": 1},
    "thickness": {
        "tester": "micrometer", "sheet_id": "S1", "position_no": 1, "sheets_in_pack": 1, "pressure_kpa": 100.0,
    },
    "tensile": {
        "tester": "tensile", "sheet_id": "S1", "direction": "MD", "specimen_no": 1,
        "width_mm": 15.0, "span_mm": 100.0, "max_force_n": 63.0,
    },
}  # fmt: skip


class Warehouse:
    """Records go in one by one; ``build`` makes the marts; ``rows`` and ``row`` read them."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self.connection = connection
        self.lines = 0
        ensure_tables(connection)
        connection.execute("CREATE SCHEMA records")
        for kind, model in STORED.items():
            create_table(connection, f"records.{kind}", model, ResolvedRecord)
        building.create_macros(connection)
        self.set()

    def set(self, **changes: Any) -> None:
        """Set the settings to the defaults with some changes."""
        set_setting(self.connection, SETTING | changes)

    def add(self, kind: str, **values: Any) -> None:
        """Insert a record of a kind; what is not given has the kind's default or is missing."""
        self.lines += 1
        accounted = {
            "file_hash": "f", "line_number": self.lines, "record_key": str(self.lines), "record_digest": "d",
            "record_status": "loaded",
        }  # fmt: skip
        row = accounted | DEFAULTS.get(kind, {}) | values
        marks = ", ".join("?" for _ in row)
        self.connection.execute(
            f"INSERT INTO records.{kind} ({', '.join(row)}) VALUES ({marks})", list(row.values())
        )

    def build(self) -> None:
        """Build the marts; every check but those on files must hold afterwards."""
        building.build_models(self.connection)
        assert building.broken_checks(self.connection) == {}

    def rows(self, query: str, *parameters: Any) -> list[dict[str, Any]]:
        """Return the rows of a query as dictionaries."""
        cursor = self.connection.execute(query, list(parameters))
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]

    def row(self, query: str, *parameters: Any) -> dict[str, Any]:
        """Return the only row of a query."""
        (row,) = self.rows(query, *parameters)
        return row


@pytest.fixture
def warehouse() -> Iterator[Warehouse]:
    with working() as connection:
        yield Warehouse(connection)
