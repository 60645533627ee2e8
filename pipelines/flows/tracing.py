"""The trace of a sheet with the lines of its records as they stand in the archived files."""

from typing import Any

from pipelines.intake.inbox import archived_line
from pipelines.settings import Laboratory
from pipelines.warehouse import tracing
from pipelines.warehouse.pointer import latest_snapshot


def trace(laboratory: Laboratory, sheet_id: str) -> dict[str, Any]:
    """Return warehouse.tracing's trace; each record with ``original_text``, None where the archive lacks the file."""
    found = tracing.trace(latest_snapshot(laboratory.published), sheet_id)
    for rows in found["records"].values():
        for row in rows:
            try:
                row["original_text"] = archived_line(
                    laboratory.archive, row["file_hash"], row["line_number"], row.pop("encoding")
                )
            except OSError:
                row["original_text"] = None
    return found
