"""The pointer: the small file that names the newest published snapshot. It imports nothing heavy."""

import json
from datetime import datetime
from pathlib import Path

from pipelines.errors import SheetloreError

POINTER = "latest.json"

PREFIX = "sheetlore-"
"""How the names of snapshots begin; the name of the run follows."""


def night_of(snapshot: Path) -> str:
    """Return the name of the run that made a snapshot."""
    return snapshot.stem.removeprefix(PREFIX)


def checked_at_utc(published: Path) -> datetime:
    """Return when a run last found the newest snapshot to hold everything in the inbox."""
    pointer = json.loads((published / POINTER).read_text(encoding="utf-8"))
    return datetime.fromisoformat(pointer["checked_at_utc"])


def latest_snapshot(published: Path) -> Path:
    """Return the snapshot that readers open; raises SheetloreError when there is none yet."""
    try:
        name = json.loads((published / POINTER).read_text(encoding="utf-8"))["snapshot"]
    except (OSError, ValueError, KeyError, TypeError):
        raise SheetloreError(
            f"{published} has no snapshot yet.",
            f"Start a run first: sheetlore nightly --lab {published.parent}",
        ) from None
    path = published / Path(str(name)).name
    if not path.is_file():
        raise SheetloreError(
            f"The snapshot {path} is missing.", f"Start a run: sheetlore nightly --lab {published.parent}"
        )
    return path
