"""The inbox and the archive on a real disk: what is at rest, what waits, and bytes kept whole."""

import os
import subprocess
import sys
from types import SimpleNamespace

import pytest

from pipelines.intake import inbox
from pipelines.intake.inbox import (
    InboxFile,
    Waiting,
    archive_bytes,
    archived_lines,
    archived_path,
    content_hash,
    list_inbox,
    read_when_complete,
)


def seen(folder):
    return {file.name: file for file in list_inbox(folder)}


def only(folder) -> InboxFile:
    (file,) = list_inbox(folder)
    return file


def test_files_in_folders_are_listed_by_name_and_links_are_reported(tmp_path):
    for name in ("b.csv", "a.csv", "week 36/c.csv", ".hidden.csv", ".folder/d.csv", "empty.csv"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"" if name == "empty.csv" else b"x")
    (tmp_path / "link.csv").symlink_to(tmp_path / "a.csv")
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "week 36" / "elsewhere").symlink_to(tmp_path / ".folder", target_is_directory=True)
    found = list(list_inbox(tmp_path))
    assert [file.name for file in found if isinstance(file, InboxFile)] == [
        "a.csv",
        "b.csv",
        "empty.csv",
        "week 36/c.csv",
    ]
    assert [(waiting.name, waiting.why) for waiting in found if isinstance(waiting, Waiting)] == [
        ("link.csv", "is a link; put the file itself there instead"),
        ("pipe.csv", "is not a regular file; remove it"),
        ("week 36/elsewhere", "is a link; put the file itself there instead"),
    ]
    assert seen(tmp_path)["a.csv"].size == 1


def test_undecodable_names_are_shown_with_replacement_characters(tmp_path):
    (tmp_path / os.fsdecode(b"caf\xe9.csv")).write_bytes(b"x")
    file = only(tmp_path)
    assert file.name == "caf?.csv"
    assert read_when_complete(file, 0, 1) == b"x"


def test_a_complete_file_is_read(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"x\r\n")
    assert read_when_complete(only(tmp_path), 0, 1) == b"x\r\n"


@pytest.fixture
def slept(monkeypatch):
    """Return the times in seconds that the inbox sleeps, which it does not do; the clock stands at 1,000,000 s."""
    times = []
    clock = SimpleNamespace(time=lambda: 1_000_000.0, sleep=times.append)
    monkeypatch.setattr(inbox, "time", clock)
    return times


@pytest.mark.parametrize(
    ("written", "sleeps"),
    [
        pytest.param(999_998, [3], id="recent"),
        pytest.param(999_995, [], id="quiet for long enough"),
        pytest.param(2_000_000, [], id="dated in the future"),
    ],
)
def test_a_recent_file_is_read_after_the_quiet_time(tmp_path, slept, written, sleeps):
    (tmp_path / "a.csv").write_bytes(b"x")
    os.utime(tmp_path / "a.csv", (written, written))
    assert read_when_complete(only(tmp_path), 5, 1) == b"x"
    assert slept == sleeps


def test_a_file_that_grows_waits(tmp_path):
    """A program of its own appends to the file while it is looked at."""
    path = tmp_path / "a.csv"
    path.write_bytes(b"x")
    file = only(tmp_path)
    append = f"open({str(path)!r}, 'ab').write(b'y')"
    subprocess.run([sys.executable, "-c", append], check=True)
    assert read_when_complete(file, 0, 1) == Waiting("a.csv", "is still being written")
    assert read_when_complete(only(tmp_path), 0, 1) == b"xy"


def test_a_file_rewritten_at_the_same_size_waits(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b"x")
    file = only(tmp_path)
    path.write_bytes(b"y")
    os.utime(path, ns=(0, file.changed_ns + 1))
    assert read_when_complete(file, 0, 1) == Waiting("a.csv", "is still being written")


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux reports which programs have a file open")
def test_a_file_open_in_another_program_waits_until_it_is_closed(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b"x")
    hold = f"file = open({str(path)!r}, 'ab'); print('open', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", hold], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as program:
        assert program.stdout.readline() == "open\n"
        assert read_when_complete(only(tmp_path), 0, 1) == Waiting(
            "a.csv", "is open for writing in another program"
        )
        program.communicate("\n")
    assert read_when_complete(only(tmp_path), 0, 1) == b"x"


def test_a_file_open_to_read_does_not_wait(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"x")
    with (tmp_path / "a.csv").open("rb"):
        assert read_when_complete(only(tmp_path), 0, 1) == b"x"


def test_a_file_larger_than_allowed_waits_and_says_why(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"x" * 1001)
    found = read_when_complete(only(tmp_path), 0, 0.001)
    assert found == Waiting(
        "a.csv", "is larger than intake.largest_file_mb (0.001 MB); raise this setting to import it"
    )
    assert read_when_complete(only(tmp_path), 0, 0.002) == b"x" * 1001


def test_a_file_gone_meanwhile_waits(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"x")
    file = only(tmp_path)
    (tmp_path / "a.csv").unlink()
    assert read_when_complete(file, 0, 1) == Waiting("a.csv", "cannot be read (No such file or directory)")


def test_the_archive_keeps_bytes_once_and_read_only(tmp_path):
    data = b"Sheet\r\nA\r\n"
    file_hash = content_hash(data)
    archive_bytes(tmp_path, file_hash, data)
    path = archived_path(tmp_path, file_hash)
    assert path.read_bytes() == data
    assert path.stat().st_mode & 0o222 == 0
    before = path.stat()
    archive_bytes(tmp_path, file_hash, data)
    assert path.stat() == before
    assert [entry.name for entry in path.parent.iterdir()] == [file_hash]


def test_half_written_archive_files_of_a_killed_run_are_ignored(tmp_path):
    """The left-over may be read-only already, which stops everyone but root from opening it to write."""
    data = b"whole"
    path = archived_path(tmp_path, content_hash(data))
    path.parent.mkdir()
    left = path.with_suffix(".unfinished")
    left.write_bytes(b"who")
    left.chmod(0o444)
    os.link(left, tmp_path / "left")
    archive_bytes(tmp_path, content_hash(data), data)
    assert path.read_bytes() == data
    assert not left.exists()
    assert (tmp_path / "left").read_bytes() == b"who", "the left-over was opened to write"


def test_archived_lines_show_the_original_text(tmp_path):
    for encoding, data in (
        ("cp1252", "Größe\r90".encode("cp1252")),
        ("utf-16", "Größe\n90".encode("utf-16")),
    ):
        archive_bytes(tmp_path, content_hash(data), data)
        assert archived_lines(tmp_path, content_hash(data), [2, 1], encoding) == {1: "Größe", 2: "90"}
    data = "Größe".encode("cp1252")
    archive_bytes(tmp_path, content_hash(data), data)
    assert archived_lines(tmp_path, content_hash(data), [1], None) == {1: "Gr\ufffd\ufffde"}
