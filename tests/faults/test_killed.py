"""Runs killed with SIGKILL at any moment: readers keep the last good numbers, and the next run completes the work."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from small_exports import copy, differences, first_exports, make, marts, put_second

from pipelines.flows import steps
from pipelines.intake.inbox import content_hash

MOMENTS = 8
FILES = (
    "archive/*/*.unfinished",
    "warehouse.run.duckdb",
    "warehouse.run.duckdb.wal",
    "published/*.unfinished",
    "published/*.unfinished.wal",
    "published/*.duckdb",
    "published/latest.unfinished",
)
"""Files that a run makes, in the order in which it makes them, as patterns below the laboratory."""

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="runs to kill are forked")


@pytest.fixture(scope="module")
def runs():
    """Ask for a run: ``runs(laboratory, after=…)`` or ``runs(laboratory, appears=…)``."""
    script = Path(__file__).with_name("killed_runs.py")
    with subprocess.Popen(
        [sys.executable, script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:

        def ask(laboratory, **when):
            process.stdin.write(json.dumps({"lab": str(laboratory.root), **when}) + "\n")
            process.stdin.flush()
            return json.loads(process.stdout.readline())

        yield ask
        process.stdin.close()


@pytest.fixture
def interrupted(first_run):
    """A laboratory after its first run with the second one's exports in its inbox."""
    put_second(first_run)
    return first_run


def assert_numbers_are_those_of(laboratory, *runs):
    found = marts(laboratory)
    assert min(len(differences(found, numbers)) for numbers in runs) == 0


def assert_archive_is_whole(laboratory):
    for path in laboratory.archive.glob("*/*"):
        assert path.suffix == ".unfinished" or content_hash(path.read_bytes()) == path.name


def assert_nothing_is_left_over(laboratory):
    assert sorted(path.name for path in laboratory.root.iterdir()) == [
        ".run.lock", "archive", "exports", "inbox", "lab.toml", "published", "warehouse.duckdb",
    ]  # fmt: skip
    assert not list(laboratory.root.rglob("*.unfinished*"))


@pytest.mark.slow
def test_runs_killed_at_many_moments(runs, second_run, interrupted, marts_of_first_run, marts_of_second_run):
    """One run after the other is killed a little later than the one before; the last is let through."""
    (second_run.inbox / "one more.csv").write_bytes(b"so that there is something to do")
    whole = runs(second_run)["seconds"]
    killed = 0
    for moment in range(MOMENTS):
        killed += runs(interrupted, after=whole * (moment + 0.5) / MOMENTS)["killed"]
        assert_numbers_are_those_of(interrupted, marts_of_first_run, marts_of_second_run)
        assert_archive_is_whole(interrupted)
    assert killed >= MOMENTS / 2
    steps.run(interrupted)
    assert differences(marts(interrupted), marts_of_second_run) == []
    assert_nothing_is_left_over(interrupted)


@pytest.mark.slow
def test_runs_killed_as_soon_as_a_file_appears(
    runs, interrupted, tmp_path, marts_of_first_run, marts_of_second_run
):
    """One run after the other is killed as it begins to write one of its files; the last is let through."""
    laboratory, missed = copy(interrupted, tmp_path / "lab"), []
    for appears in FILES:
        if not runs(laboratory, appears=appears)[
            "killed"
        ]:  # it was gone before it was seen, and the run went on
            missed.append(appears)
            laboratory = copy(interrupted, tmp_path / f"lab without {len(missed)}")
        assert_numbers_are_those_of(laboratory, marts_of_first_run, marts_of_second_run)
        assert_archive_is_whole(laboratory)
    assert len(missed) <= 2, missed
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_second_run) == []
    assert_nothing_is_left_over(laboratory)


def test_a_killed_first_run_leaves_nothing_misleading(runs, tmp_path, marts_of_first_run):
    laboratory = make(tmp_path / "lab", first_exports())
    assert runs(laboratory, appears="published/*.unfinished")["killed"]
    assert not laboratory.warehouse.exists()
    assert not (laboratory.published / "latest.json").exists()
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_first_run) == []
