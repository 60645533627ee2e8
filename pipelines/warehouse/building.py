"""Building what is published from the records: macros, the layers of models in order, and the checks."""

import duckdb
import pandas as pd

from pipelines.warehouse.declared_values import undeclared_values
from pipelines.warehouse.jet_to_wire_fit import fit_jet_to_wire
from pipelines.warehouse.statements import header, names, statement
from pipelines.warehouse.tables import create_table, literal
from schemas.marts import marts

LAYERS = (
    "tensile_curve_match",
    "staging",
    "atmosphere_evidence",
    "atmosphere_compliance",
    "sheet_measurement",
    "derived",
    "instrument_uncertainty",
    "sheet_summary",
    "quality_flags",
    "trial_point_summary",
)
"""The folders of models in build order, before the marts; a model reads only from layers before its own."""


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
    for layer in LAYERS:
        connection.execute(f"DROP SCHEMA IF EXISTS {layer} CASCADE")
        connection.execute(f"CREATE SCHEMA {layer}")
        for name in names(layer):
            build_model(connection, name)
    for mart in marts():
        if f"marts/{mart}" in names("marts"):
            build_model(connection, f"marts/{mart}")
    fit_jet_to_wire(connection)


def build_model(connection: duckdb.DuckDBPyConnection, name: str) -> None:
    """Build one model or mart, such as ``staging/sheet``, from the tables that its statement reads."""
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


def _stem(name: str) -> str:
    return name.rpartition("/")[2]
