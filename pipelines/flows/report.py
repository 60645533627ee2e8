"""The report of a run, for people and programs."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipelines.intake.inbox import Waiting
from pipelines.settings import Laboratory, Settings

OF_THIS_RUN = (
    "files_read", "files_new", "files_imported", "files_put_on_hold", "rows_read", "rows_imported", "curves_imported",
    "lines_held", "lines_repeated", "lines_superseded",
)  # fmt: skip
"""The columns of ``night`` that count what the run did; the others count what the warehouse holds after it."""


@dataclass(frozen=True)
class Report:
    """The result of a run.

    ``night`` is its row of the published table ``night``; of a run that changed nothing, the row of the last one that
    did, with its own counts at 0. ``settings`` are those that the run applied.
    """

    night: dict[str, Any]
    changed: bool
    waiting: list[Waiting]
    snapshot: Path
    overdrawn_tanks: list[str]
    settings: Settings

    @property
    def laboratory(self) -> Laboratory:
        """The laboratory that the run worked on."""
        return Laboratory(self.snapshot.parents[1])

    @property
    def page(self) -> Path | None:
        """The start page of the web page, where the laboratory wants one."""
        start = self.laboratory.site / "index.html"
        return start if start.is_file() else None

    @property
    def something_held(self) -> bool:
        """Whether any file or line is on hold."""
        return bool(self.night["files_held"] or self.night["rows_held"])
