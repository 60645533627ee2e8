"""A warehouse in memory to which a test adds a few records, and which builds the tables that the test asks for."""

import re
from collections.abc import Iterator, Set
from typing import Any

import duckdb
import pytest

from pipelines.settings import Settings
from pipelines.warehouse import building, ledger, loading, property_table
from pipelines.warehouse.connection import working
from pipelines.warehouse.duplicate_resolution import set_setting
from pipelines.warehouse.statements import models, names, statement
from schemas.properties import registry

SETTING = Settings().for_snapshot() | {
    "drum_radius_mm": 150.0, "forming_length_mm": 900.0, "forming_width_mm": 220.0,
    "admitted_verdicts": "standard,off_standard,unverified",
}  # fmt: skip
"""The defaults with a former, and with every test in means: most tests here are not about the atmosphere."""

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
    "further": {"tester": "any", "sheet_id": "S1", "specimen_no": 1},
    "stock": {"tester": "any", "furnish": "F1", "specimen_no": 1},
}  # fmt: skip


MODELS = {name.removeprefix("marts/").replace("/", "."): name for name in models()}
"""Table -> the name of the statement that makes it."""

FITTED = {"jet_to_wire_response", "jet_to_wire_response_curve"}
"""Tables that no statement makes: ``build`` fits them."""

WITH_SCHEMA = re.compile(r"\b(?:FROM|JOIN)\s+(?:main\.(\w+)|(\w+\.\w+))")
WITHOUT_SCHEMA = re.compile(r"\b(?:FROM|JOIN)\s+(\w+)\b(?!\.)")


def inputs_of(name: str) -> set[str]:
    """Return the tables to be built that a statement of ours reads; it names each with its schema."""
    found = WITH_SCHEMA.findall(re.sub("--.*", "", statement(name)))
    return {mart or table for mart, table in found} & (MODELS.keys() | FITTED)


class Warehouse:
    """Records to which a test adds rows, and the tables made from them.

    ``rows`` and ``row`` make what a query reads: its tables, and the tables that those are made from, no others.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self.connection = connection
        self.lines = 0
        self.built: set[str] = set()
        self.set()

    def set(self, **changes: Any) -> None:
        """Set the settings to the defaults with some changes."""
        self.built.clear()
        set_setting(self.connection, SETTING | changes)

    def add(self, kind: str, **values: Any) -> None:
        """Insert a record of a kind; what is not given has the kind's default or is missing."""
        self.built.clear()
        self.lines += 1
        accounted = {
            "file_hash": "f", "line_number": self.lines, "record_key": str(self.lines), "record_digest": "d",
            "record_status": "loaded", "n_lines": 1,
        }  # fmt: skip
        row = accounted | DEFAULTS.get(kind, {}) | values
        marks = ", ".join("?" for _ in row)
        self.connection.execute(
            f"INSERT INTO records.{kind} ({', '.join(row)}) VALUES ({marks})", list(row.values())
        )

    def build(self) -> None:
        """Build every table."""
        building.build_models(self.connection)
        self.built = MODELS.keys() | FITTED

    def build_with_inputs(self, tables: Set[str]) -> None:
        """Build tables, unless they are built already, and before each those that it is made from."""
        for table in (tables & MODELS.keys()) - self.built:
            self.build_with_inputs(inputs_of(MODELS[table]))
            building.build_model(self.connection, MODELS[table])
            self.built.add(table)

    def broken_checks(self) -> list[str]:
        """Return the checks that do not hold, of those whose tables are built."""
        checks = [name for name in names("checks") if inputs_of(name) <= self.built]
        return [name for name in checks if self.connection.execute(statement(name)).fetchall()]

    def rows(self, query: str, *parameters: Any) -> list[dict[str, Any]]:
        """Return the rows of a query as dictionaries."""
        found = WITH_SCHEMA.findall(query)
        self.build_with_inputs({*WITHOUT_SCHEMA.findall(query), *(mart or table for mart, table in found)})
        cursor = self.connection.execute(query, list(parameters))
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]

    def row(self, query: str, *parameters: Any) -> dict[str, Any]:
        """Return the only row of a query."""
        (row,) = self.rows(query, *parameters)
        return row


@pytest.fixture(scope="session")
def empty_warehouse() -> Iterator[duckdb.DuckDBPyConnection]:
    """A warehouse in memory without a record; each test uses it in a transaction that is rolled back."""
    with working() as connection:
        connection.execute("SET threads = 1")  # tables of a few rows
        ledger.ensure_tables(connection)
        loading.ensure_tables(connection)
        property_table.store_registry(connection, registry())
        for schema in building.model_schemas():
            connection.execute(f"CREATE SCHEMA {schema}")
        building.create_macros(connection)
        yield connection


@pytest.fixture
def unchecked_warehouse(empty_warehouse: duckdb.DuckDBPyConnection) -> Iterator[Warehouse]:
    """The empty warehouse, for a test that breaks checks."""
    empty_warehouse.begin()
    yield Warehouse(empty_warehouse)
    empty_warehouse.rollback()


@pytest.fixture
def warehouse(unchecked_warehouse: Warehouse) -> Iterator[Warehouse]:
    """The empty warehouse; at the end of the test every check on what it built must hold."""
    yield unchecked_warehouse
    assert unchecked_warehouse.broken_checks() == []
