"""The prompt: its own commands, when Enter ends a query, its history, and a session in a terminal."""

import contextlib
import fcntl
import json
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import psutil
import pytest
from prompt_toolkit.history import FileHistory, InMemoryHistory

from pipelines import prompt

EXECUTABLE = Path(sys.executable).with_name("sheetlore")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("help", ["help"]),
        (" Tables ; ", ["tables"]),
        ("columns Sheet", ["columns", "sheet"]),
        ("leave;", ["leave"]),
        ("columns", []),
        ("tables sheet", []),
        ("SELECT 1;", []),
        ("", []),
    ],
)
def test_own_words(text, words):
    assert prompt.own_words(text) == words


@pytest.mark.parametrize(
    ("text", "finished"),
    [
        ("", True),
        ("leave", True),
        ("columns sheet", True),
        ("SELECT 1", False),
        ("SELECT 1;", True),
        ("SELECT ';", False),
    ],
)
def test_enter_ends_a_finished_query(text, finished):
    assert prompt.is_finished(text) is finished


def test_the_history_is_in_the_state_folder_and_nobody_elses(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert isinstance(prompt.history(), FileHistory)
    path = tmp_path / "state" / "sheetlore" / "queries"
    assert path.stat().st_mode & 0o077 == 0


def test_an_unwritable_history_is_kept_in_memory(monkeypatch, tmp_path):
    (tmp_path / "state").write_text("no folder")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert isinstance(prompt.history(), InMemoryHistory)


class Terminal:
    """A terminal with a command in it: send text, wait for output."""

    def __init__(self, *arguments, **environment):
        self.controller, terminal = pty.openpty()
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        self.process = subprocess.Popen(
            [EXECUTABLE, *map(str, arguments)],
            stdin=terminal,
            stdout=terminal,
            stderr=terminal,
            env=os.environ | {"TERM": "xterm"} | environment,
            preexec_fn=lambda: (
                os.setsid(),
                fcntl.ioctl(0, termios.TIOCSCTTY, 0),
                signal.signal(signal.SIGINT, signal.SIG_DFL),  # a test run in the background ignores it
            ),
        )
        os.close(terminal)
        self.shown = ""

    def type(self, keys):
        self.shown = ""
        os.write(self.controller, keys.encode())

    def wait_for(self, pattern, seconds=60):
        deadline = time.monotonic() + seconds
        while not (found := re.search(pattern, self.shown)):
            assert time.monotonic() < deadline, f"{pattern!r} is not in {self.shown!r}"
            if select.select([self.controller], [], [], 0.2)[0]:
                with contextlib.suppress(OSError):  # a closed terminal ends so
                    part = os.read(self.controller, 65536).decode(errors="replace")
                    if "\x1b[6n" in part:  # asked where the cursor is, a terminal answers
                        os.write(self.controller, b"\x1b[1;1R")
                    self.shown += re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", part)
        return found

    def wait_for_work(self, seconds):
        """Wait until the process has worked for so long, as only a query does."""
        watched = psutil.Process(self.process.pid)
        begun, deadline = watched.cpu_times().user, time.monotonic() + 120
        while watched.cpu_times().user < begun + seconds:
            assert time.monotonic() < deadline
            time.sleep(0.01)

    def end(self):
        try:
            return self.process.wait(timeout=60)
        finally:
            self.process.kill()
            self.process.wait()
            os.close(self.controller)


def test_a_session_completes_answers_explains_interrupts_and_leaves(demo_copy, tmp_path):
    state = {"XDG_STATE_HOME": str(tmp_path)}
    terminal = Terminal("sql", "--lab", demo_copy.root, **state)
    terminal.wait_for(r"Snapshot sheetlore-.*\.duckdb\.[\s\S]*sheetlore>")

    terminal.type("SELECT count(*) AS sheets FROM she")
    terminal.wait_for("One row per sheet of the forming log")
    terminal.type("\t")
    terminal.wait_for("et")
    terminal.type("\r;\r")
    terminal.wait_for(r"sheets\s+-+\s+60\s+1 row, in \d+\.\d\d s")

    terminal.type("SELECT grammage\rFROM sheet;\r")
    terminal.wait_for(r"not found in FROM clause![\s\S]*\^[\s\S]*Did you mean grammage_g_m2")

    terminal.type("BEGIN;\r")
    terminal.wait_for("sheetlore>")
    terminal.type("SELECT grammage\rFROM sheet;\r")
    terminal.wait_for("Did you mean grammage_g_m2")
    terminal.type("SELECT 6 * 7 AS after;\r")
    terminal.wait_for(r"42\s+1 row")

    terminal.type("FROM range(2000);\r")
    terminal.wait_for(r"2,000 rows, the first 500 shown, in")

    terminal.type("SELECT count(*) FROM range(10000000) a, range(10000000) b WHERE a.range * b.range = 7;\r")
    terminal.wait_for_work(0.5)
    terminal.type("\x03")
    terminal.wait_for(r"Interrupted[\s\S]*sheetlore>")

    pointer = demo_copy.published / "latest.json"
    newer = demo_copy.published / "sheetlore-2999-01-01T00-00-00-000Z.duckdb"
    newer.write_bytes(b"")
    pointer.write_text(json.dumps(json.loads(pointer.read_text()) | {"snapshot": newer.name}))
    terminal.type("SELECT thrown away\x03")
    terminal.wait_for(r"2999-01-01.* is newer\.[\s\S]*sheetlore>")

    terminal.type("columns night\r")
    terminal.wait_for(r"began_at_utc\s+\w+[\s\S]*sheetlore>")

    terminal.type("leave\r")
    assert terminal.end() == 0
    kept = (tmp_path / "sheetlore" / "queries").read_text()
    assert "SELECT count(*) AS sheets FROM sheet" in kept
    assert "thrown away" not in kept


def test_ctrl_d_leaves(demo_night, tmp_path):
    terminal = Terminal("sql", "--lab", demo_night.laboratory.root, XDG_STATE_HOME=str(tmp_path))
    terminal.wait_for("sheetlore>")
    terminal.type("\x04")
    assert terminal.end() == 0


def test_options_of_a_query_need_one(demo_night):
    terminal = Terminal("sql", "--format", "csv", "--lab", demo_night.laboratory.root)
    terminal.wait_for("need a query")
    assert terminal.end() == 2
