"""The lines that start the nightly run on a schedule: tried where this machine can, else held against their form."""

import re
import shutil
import subprocess

import pytest
from readme_blocks import blocks
from test_commands import parse, uses

CHAPTER = [block for block in blocks() if block.chapter == "Every night"]


def only(language: str):
    (block,) = (block for block in CHAPTER if block.language == language)
    return block


def units():
    return [block for block in CHAPTER if block.language == "ini"]


@pytest.mark.slow
def test_cron(reader) -> None:
    """The five fields are within crontab(5)'s ranges, and the command runs as cron runs it."""
    (line,) = only("cron").text.splitlines()
    *fields, command = line.split(None, 5)
    assert len(fields) == 5
    for field, (lowest, highest) in zip(fields, ((0, 59), (0, 23), (1, 31), (1, 12), (0, 7)), strict=True):
        assert field == "*" or lowest <= int(field) <= highest
    assert "%" not in command.replace("\\%", ""), "cron ends a command at a bare %"
    shutil.copytree(reader.home / "demo-lab", reader.home / "paper-lab")
    reader.environment["PATH"] = "/usr/bin:/bin"  # cron's
    ended = reader.run(command)
    assert ended.returncode == 3, ended.stderr  # something is on hold in the demo laboratory
    assert (ended.stdout, ended.stderr) == ("", "")
    assert "Snapshot: " in (reader.home / "paper-lab" / "nightly.log").read_text(encoding="utf-8")


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="there is no systemd here")
def test_systemd(reader, tmp_path) -> None:
    folder = reader.home / ".config" / "systemd" / "user"
    folder.mkdir(parents=True)
    names = []
    for block in units():
        name = block.path.removeprefix("~/.config/systemd/user/")
        (folder / name).write_text(block.text)
        names.append(name)
    assert sorted(names) == ["sheetlore.service", "sheetlore.timer"]
    runtime = tmp_path / "runtime"
    runtime.mkdir()
    verified = subprocess.run(
        ["systemd-analyze", "--user", "verify", *(str(folder / name) for name in names)],
        env=reader.environment | {"XDG_RUNTIME_DIR": str(runtime)},
        capture_output=True,
        text=True,
    )
    assert (verified.returncode, verified.stdout, verified.stderr) == (0, "", "")


@pytest.mark.slow
def test_the_service_runs_and_takes_something_on_hold_for_success(reader) -> None:
    service = next(block.text for block in units() if "[Service]" in block.text)
    command = re.search(r"^ExecStart=(.*)$", service, re.M)[1].replace("%h", str(reader.home))
    shutil.copytree(reader.home / "demo-lab", reader.home / "paper-lab")
    ended = reader.run(command)
    assert ended.returncode == 3
    assert re.search(r"^SuccessExitStatus=3$", service, re.M)


def test_the_task_of_windows() -> None:
    """schtasks as its help has it: /Create /TN name /SC DAILY /ST HH:mm /TR "command", quotes within as \\\"."""
    line = only("bat").text.strip()
    found = re.fullmatch(
        r'schtasks /Create /TN (\w+) /SC DAILY /ST (\d\d):(\d\d) /TR "((?:\\"|[^"])*)"', line
    )
    assert found, line
    assert int(found[2]) < 24 and int(found[3]) < 60
    (arguments,) = uses(line)
    assert arguments == ["nightly", "--lab", "%USERPROFILE%/paper-lab"]
    parse(arguments)
