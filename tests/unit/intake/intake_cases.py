"""Shared by the tests of the intake: profiles of a few lines, and files read with them."""

import tempfile
from pathlib import Path
from typing import Any

import pandas as pd

from pipelines.intake.inbox import content_hash
from pipelines.intake.ingestion import IngestionResult, Outcome, ingest
from pipelines.intake.profile_matching import ArchivedFile
from pipelines.intake.profiles import Profile, load_profile
from schemas.records import KINDS, STORED
from schemas.records.record import values_of

ZONE = "Europe/Helsinki"

FOLDED = {kind for kind in KINDS if STORED[kind] is not KINDS[kind]}

THICKNESS = """
record = "thickness"
tester = "micrometer"

[recognise]
header = ["Sheet", "Thickness"]

[dialect]
encoding = "utf-8"
delimiter = ";"
decimal = ","
preamble = 0

[columns]
sheet_id = "Sheet"
position_no = "Place"
thickness = { from = "Thickness", unit = "um" }
sheets_in_pack = { value = 1 }
note = "Note"
"""
"""A profile to start from; tests change it by replacing text."""


def profile(text: str = THICKNESS, name: str = "thickness") -> Profile:
    """Return a profile of a text, checked as one in a laboratory's folder is."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return load_profile(path)


def file_of(data: bytes, name: str = "export.csv") -> ArchivedFile:
    return ArchivedFile(content_hash(data), name, data)


def ingest_one(
    data: bytes | str, *profiles: Profile, name: str = "export.csv"
) -> tuple[Outcome, pd.DataFrame]:
    """Ingest one file; return its outcome and its records (no rows when nothing was imported)."""
    content = data.encode() if isinstance(data, str) else data
    result = ingest([file_of(content, name)], list(profiles) or [profile()], ZONE)
    (outcome,) = result.outcomes
    frames = [frame for _, frame in result.records]
    return outcome, frames[0] if frames else pd.DataFrame({"line_number": []})


def held(outcome: Outcome) -> list[tuple[int | None, str]]:
    """Return the line and the rule of each reason, in order."""
    return [(reason.line_number, reason.rule) for reason in outcome.rejections]


def assert_all_is_accounted_for(result: IngestionResult) -> None:
    """Assert what holds for every import: each line in one class, each line on hold with a rejection."""
    stored = {outcome.file_hash: 0 for outcome in result.outcomes}
    for kind, frame in result.records:
        assert list(frame.columns) == [*KINDS[kind].to_schema().columns, "n_lines"]
        assert (frame.groupby(["file_hash", "line_number"])["n_lines"].sum() <= 1).all()
        for file_hash, rows in frame.groupby("file_hash"):
            stored[file_hash] += rows["n_lines"].sum()
    for outcome in result.outcomes:
        account = outcome.account
        outcome.account.check(outcome.file_name)
        assert min(vars(account).values()) >= 0
        assert account.stored == stored[outcome.file_hash]
        assert all(reason.what and reason.remedy for reason in outcome.rejections)
        if outcome.held_whole:
            assert account.held == account.lines
            assert account.stored == 0
        else:
            reasons = len({reason.line_number for reason in outcome.rejections})
            if (
                outcome.profile and outcome.profile.text.record in FOLDED
            ):  # one reason for all lines of a curve
                assert reasons <= account.held
            else:
                assert reasons == account.held
            assert all(1 <= (reason.line_number or 0) <= account.lines for reason in outcome.rejections)
        if not outcome.rejections:
            assert account.held == 0


def values(kind: str, row: dict[str, Any]) -> dict[str, Any]:
    """Return what a record says about the world, without what is missing; times as text."""
    given = {name: row[name] for name in values_of(KINDS[kind]) if not pd.isna(row[name])}
    return {
        name: f"{value:%Y-%m-%d %H:%M:%S}" if isinstance(value, pd.Timestamp) else value
        for name, value in given.items()
    }
