"""The trace of a sheet with the lines of its records as they stand in the archived files."""

from itertools import chain
from typing import Any

from pipelines.intake.inbox import archived_lines
from pipelines.settings import Laboratory
from pipelines.warehouse import tracing
from pipelines.warehouse.pointer import latest_snapshot


def trace(laboratory: Laboratory, sheet_id: str) -> dict[str, Any]:
    """Return warehouse.tracing's trace; each record with ``original_text``, None where the archive lacks the file."""
    found = tracing.trace(latest_snapshot(laboratory.published), sheet_id)
    rows_of_file: dict[str, list[dict[str, Any]]] = {}
    for row in chain.from_iterable(found["records"].values()):
        rows_of_file.setdefault(row["file_hash"], []).append(row)
    for file_hash, rows in rows_of_file.items():
        numbers, encoding = {row["line_number"] for row in rows}, rows[0]["encoding"]
        try:
            lines = archived_lines(laboratory.archive, file_hash, numbers, encoding)
        except OSError:
            lines = {}
        for row in rows:
            del row["encoding"]
            row["original_text"] = lines.get(row["line_number"])
    return found
