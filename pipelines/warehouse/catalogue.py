"""What a snapshot has to ask: its tables, their columns, and the macros, each with its meaning."""

from dataclasses import dataclass

import duckdb


@dataclass(frozen=True)
class Macro:
    """A formula that queries may use."""

    name: str
    parameters: tuple[str, ...]
    meaning: str

    @property
    def call(self) -> str:
        """How it is called: ``tensile_index_nm_g(tensile_strength_kn_m, grammage_g_m2)``."""
        return f"{self.name}({', '.join(self.parameters)})"


@dataclass(frozen=True)
class Catalogue:
    """Tables and columns by name, with their comments; tables of the schema records are called ``records.tensile``."""

    tables: dict[str, str]
    columns: dict[str, dict[str, str]]
    macros: tuple[Macro, ...]
    functions: tuple[str, ...]
    """Names of all functions, the macros and DuckDB's own."""


def read(connection: duckdb.DuckDBPyConnection) -> Catalogue:
    """Return what a snapshot has to ask."""
    tables: dict[str, str] = {}
    columns: dict[str, dict[str, str]] = {}
    for table, meaning, column, column_meaning in connection.execute(
        """
        SELECT
            if(t.schema_name = 'main', '', t.schema_name || '.') || t.table_name,
            coalesce(t.comment, ''),
            c.column_name,
            coalesce(c.comment, '')
        FROM duckdb_tables() AS t
        INNER JOIN duckdb_columns() AS c ON t.table_oid = c.table_oid AND t.database_name = c.database_name
        ORDER BY t.schema_name, t.table_name, c.column_index
        """
    ).fetchall():
        tables[table] = meaning
        columns.setdefault(table, {})[column] = column_meaning
    macros = connection.execute(
        "SELECT function_name, parameters, coalesce(comment, '') FROM duckdb_functions() "
        "WHERE NOT internal ORDER BY function_name"
    ).fetchall()
    functions = connection.execute(
        r"SELECT DISTINCT function_name FROM duckdb_functions() WHERE function_name ~ '^[a-z]\w*$' ORDER BY ALL"
    ).fetchall()
    return Catalogue(
        tables,
        columns,
        tuple(Macro(name, tuple(parameters), meaning) for name, parameters, meaning in macros),
        tuple(name for (name,) in functions),
    )
