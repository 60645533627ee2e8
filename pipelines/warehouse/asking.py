"""Questions to a published snapshot: what is held, what is unmatched, and any SQL."""

import difflib
import re
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa

from pipelines.errors import UsageError
from pipelines.warehouse.connection import reading


def held_rows(snapshot: Path, closed: bool = False) -> list[dict[str, Any]]:
    """Return what is held, whole files first, then by file and line.

    What is held of a file that was replaced in the inbox or taken out of it is closed, and returned on demand.
    """
    with reading(snapshot) as connection:
        return _rows(
            connection,
            "FROM held_row WHERE in_inbox OR ? "
            "ORDER BY line_number IS NOT NULL, file_name, file_hash, line_number, column_name",
            closed,
        )


def unmatched_tests(snapshot: Path, closed: bool = False) -> list[dict[str, Any]]:
    """Return the sheets that tests name and no forming log does, with how many tests wait for each."""
    with reading(snapshot) as connection:
        return _rows(
            connection,
            """
            SELECT
                sheet_id,
                any_value(suggested_sheet_id) AS suggested_sheet_id,
                any_value(suggestion_reason) AS suggestion_reason,
                count(*) AS tests,
                string_agg(DISTINCT kind, ', ' ORDER BY kind) AS kinds,
                arg_min(file.file_name, test.line_number) AS first_file_name,
                min(test.line_number) AS first_line_number
            FROM unmatched_test AS test
            INNER JOIN export_file AS file ON test.file_hash = file.file_hash
            WHERE file.in_inbox OR ?
            GROUP BY sheet_id
            ORDER BY sheet_id
            """,
            closed,
        )


def _rows(connection: duckdb.DuckDBPyConnection, query: str, *parameters: object) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = connection.execute(query, list(parameters)).to_arrow_table().to_pylist()
    return rows


def ask(snapshot: Path, query: str) -> pa.Table:
    """Run one SQL statement on a snapshot, read-only and with nothing outside it reachable.

    Raises UsageError that says what is wrong with the query and, for a misspelt name, the nearest right one.
    """
    with reading(snapshot) as connection:
        try:
            if len(connection.extract_statements(query)) != 1:
                raise UsageError("Give one SQL statement, no more and no less.")
            return connection.execute(query).to_arrow_table()
        except duckdb.Error as error:
            raise UsageError(_plainly(error), _hint(connection, error)) from None


def _plainly(error: duckdb.Error) -> str:
    """Return DuckDB's message without its suggestions, which _hint gives in one form."""
    return re.split(r"\n(?:Candidate bindings|Did you mean)", str(error))[0].strip()


def _hint(connection: duckdb.DuckDBPyConnection, error: duckdb.Error) -> str:
    text = str(error)
    if isinstance(error, duckdb.InvalidInputException) and "read-only" in text:
        return "The snapshot is read-only: what it says can be asked, not changed."
    if isinstance(error, duckdb.PermissionException):
        return "Queries reach nothing outside the snapshot; write results to a file with --out."
    missing = re.search(
        r'(?:Referenced column|column named|Table with name|Function with name|Macro with name)\s+"?([\w.]+)"?',
        text,
    )
    if not missing:
        return ""
    known = [
        name
        for (name,) in connection.execute(
            """
            SELECT column_name FROM duckdb_columns() WHERE schema_name IN ('main', 'records')
            UNION
            SELECT table_name FROM duckdb_tables()
            UNION
            SELECT function_name FROM duckdb_functions() WHERE NOT internal
            """
        ).fetchall()
    ]
    near = difflib.get_close_matches(missing[1].lower(), known, n=3, cutoff=0.6)
    return f"Did you mean {' or '.join(near)}?" if near else "Names of tables and columns: SHOW ALL TABLES"
