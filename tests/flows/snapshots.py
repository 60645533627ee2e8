"""Comparing two snapshots: the same rows, with the same counts exactly and numbers to twelve digits."""

from pathlib import Path

import pandas as pd

from pipelines.warehouse.connection import reading
from schemas.marts import marts
from schemas.records import KINDS

OF_THE_RUN = ["night", "began_at_utc", "ended_at_utc", "received_night", "read_night"]
"""Columns that name a run or say when it was."""


def tables(snapshot: Path) -> dict[str, pd.DataFrame]:
    """Return every table of a snapshot, ordered, without what names the run."""
    with reading(snapshot) as connection:
        return {
            name: connection.execute(f"FROM {name} ORDER BY ALL")
            .df()
            .drop(columns=OF_THE_RUN, errors="ignore")
            for name in (*marts(), *(f"records.{kind}" for kind in KINDS))
        }


def assert_same(one: Path, other: Path) -> None:
    """Fail unless two snapshots say the same."""
    first, second = tables(one), tables(other)
    for name, frame in first.items():
        assert len(frame), f"{name} is empty: nothing would be compared"
        pd.testing.assert_frame_equal(frame, second[name], rtol=1e-12, atol=0, obj=name)
