"""Building what is published from the records: macros, the models in the order of their inputs, and the checks."""

import duckdb
import pandas as pd

from pipelines.warehouse.declared_values import undeclared_values
from pipelines.warehouse.jet_to_wire_fit import fit_jet_to_wire
from pipelines.warehouse.statements import header, models, names, statement
from pipelines.warehouse.tables import create_table, literal, quoted
from schemas.marts import marts


def create_macros(connection: duckdb.DuckDBPyConnection) -> None:
    """Create the formulas as macros, each with the head of its file as its comment."""
    for name in names("macros"):
        text = statement(name)
        connection.execute(text)
        connection.execute(f"COMMENT ON MACRO {_stem(name)} IS {literal(header(text))}")


def build_models(connection: duckdb.DuckDBPyConnection) -> None:
    """Rebuild every model and mart in full from schema ``records``, ``main.setting`` and ``main.tester_accuracy``.

    Needs the macros. A mart without a statement in sql/marts is filled elsewhere and left alone.
    """
    for schema in _schemas_of_models(connection):
        connection.execute(f"DROP SCHEMA {quoted(schema)} CASCADE")
    for schema in model_schemas():
        connection.execute(f"CREATE SCHEMA {schema}")
    for name in models():
        build_model(connection, name)
    fit_jet_to_wire(connection)


def model_schemas() -> tuple[str, ...]:
    """Return the schemas of the models: the folders of sql that hold them, besides the marts."""
    return tuple(sorted({name.partition("/")[0] for name in models()} - {"marts"}))


def build_model(connection: duckdb.DuckDBPyConnection, name: str) -> None:
    """Build one model or mart, such as ``forming/sheet``, from the tables that its statement reads."""
    folder, _, table = name.partition("/")
    text = statement(name)
    if folder == "marts":
        create_table(connection, f"main.{table}", marts()[table])
        connection.execute(f"INSERT INTO main.{table} BY NAME\n{text}")
    else:
        connection.execute(f"CREATE OR REPLACE TABLE {folder}.{table} AS\n{text}")
        connection.execute(f"COMMENT ON TABLE {folder}.{table} IS {literal(header(text))}")


def broken_checks(connection: duckdb.DuckDBPyConnection) -> dict[str, pd.DataFrame]:
    """Run the checks and return, for each that is broken, the rows that break it.

    A check's key is its file's name in sql/checks, whose head says what must hold; ``values_are_as_declared`` holds
    the published tables to the ranges and allowed values of their models.
    """
    found = {_stem(name): connection.execute(statement(name)).df() for name in names("checks")}
    found["values_are_as_declared"] = undeclared_values(connection)
    return {check: rows for check, rows in found.items() if len(rows)}


def _schemas_of_models(connection: duckdb.DuckDBPyConnection) -> list[str]:
    """Return the schemas that hold models, also those of an older version of the models."""
    rows = connection.execute(
        "SELECT schema_name FROM duckdb_schemas() WHERE database_name = current_database() AND NOT internal "
        "AND schema_name NOT IN ('main', 'records', 'received', 'ledger')"
    ).fetchall()
    return [name for (name,) in rows]


def _stem(name: str) -> str:
    return name.rpartition("/")[2]
