"""Disks that are really full, and limits that really hold: the run fails in one sentence and changes nothing."""

import os
import resource
import shutil
import subprocess
import sys

import pytest
from small_exports import copy, differences, first_exports, make, marts, put_second

from pipelines.flows import steps

ROOM = 100_000_000
COMMAND = [sys.executable, "-c", "from pipelines.cli import main; main()", "nightly", "--direct", "--lab"]


def nightly(laboratory, **how):
    return subprocess.run([*COMMAND, laboratory.root], capture_output=True, text=True, timeout=120, **how)


@pytest.fixture
def small_disk(tmp_path):
    """A file system of its own, of 100 MB, in memory."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = shutil.which("mount")
    if mount is None or os.geteuid() != 0:
        pytest.skip("a file system can be mounted by root alone")
    done = subprocess.run(
        [mount, "-t", "tmpfs", "-o", f"size={ROOM}", "tmpfs", disk], capture_output=True, text=True
    )
    if done.returncode:
        pytest.skip(f"no file system can be mounted here: {done.stderr.strip()}")
    yield disk
    subprocess.run(["umount", disk], check=True)


def fill(disk, free):
    """Fill a disk up to some free bytes with a file; return it."""
    status = os.statvfs(disk)
    ballast = disk / "ballast"
    with ballast.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, status.f_bavail * status.f_frsize - free)
    return ballast


def assert_failed_in_one_sentence(done):
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stderr
    assert "Reading or writing failed" in done.stderr
    assert "The warehouse and its snapshots are unchanged." in done.stderr


@pytest.mark.parametrize(
    ("whole_copies", "free"),
    [
        pytest.param(0, 2_000_000, id="no copy of the warehouse", marks=pytest.mark.slow),
        pytest.param(1, 100_000, id="no log", marks=pytest.mark.slow),
        pytest.param(1, 3_000_000, id="no tables", marks=pytest.mark.slow),
        pytest.param(1, 9_500_000, id="no snapshot", marks=pytest.mark.slow),
    ],
)
def test_a_full_disk(whole_copies, free, small_disk, first_run, marts_of_first_run, marts_of_second_run):
    """Whenever the disk becomes full during a run."""
    laboratory = copy(first_run, small_disk / "lab")
    put_second(laboratory)
    ballast = fill(small_disk, whole_copies * laboratory.warehouse.stat().st_size + free)
    done = nightly(laboratory)
    assert_failed_in_one_sentence(done)
    assert "No space left on device" in done.stderr
    assert differences(marts(laboratory), marts_of_first_run) == []
    assert not list(laboratory.root.glob("warehouse.run*"))
    assert not list(laboratory.published.glob("*.unfinished*"))
    ballast.unlink()
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_second_run) == []


@pytest.mark.slow
def test_a_first_run_on_a_full_disk(small_disk, marts_of_first_run):
    laboratory = make(small_disk / "lab", first_exports())
    ballast = fill(small_disk, 1_000_000)
    assert_failed_in_one_sentence(nightly(laboratory))
    assert not laboratory.warehouse.exists()
    ballast.unlink()
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_first_run) == []


def limited(largest):
    """Let the operating system refuse that any file grows beyond a size; needs no disk of its own."""
    return {"preexec_fn": lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))}


@pytest.mark.slow
def test_a_warehouse_that_may_not_be_copied(first_run, marts_of_first_run, marts_of_second_run):
    put_second(first_run)
    assert_failed_in_one_sentence(nightly(first_run, **limited(1_000)))
    assert differences(marts(first_run), marts_of_first_run) == []
    steps.run(first_run)
    assert differences(marts(first_run), marts_of_second_run) == []


@pytest.mark.slow
def test_a_warehouse_that_may_not_grow(tmp_path, marts_of_first_run):
    laboratory = make(tmp_path / "lab", first_exports())
    assert_failed_in_one_sentence(nightly(laboratory, **limited(3_000_000)))
    assert not laboratory.warehouse.exists()
    steps.run(laboratory)
    assert differences(marts(laboratory), marts_of_first_run) == []
