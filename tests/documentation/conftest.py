"""What the tests of the README share: a folder to follow it in, as a reader does."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from laboratories import DemoNight
from readme_blocks import Block

UV = """\
#!/bin/sh
# Stands for uv: runs the command in the environment of the tests.
[ "$1" = run ] || exit 99
shift
[ "$1" = --extra ] && shift 2
exec "$@"
"""


class Reader:
    """A reader with a home of their own, who follows the README there."""

    def __init__(self, home: Path) -> None:
        self.home = home
        commands = home / ".local" / "bin"
        commands.mkdir(parents=True)
        (commands / "uv").write_text(UV)
        (commands / "uv").chmod(0o755)
        (commands / "sheetlore").symlink_to(Path(sys.executable).with_name("sheetlore"))
        (home / "fixtures").symlink_to(Path(__file__).parents[2] / "fixtures")
        self.environment = os.environ | {
            "HOME": str(home),
            "PATH": os.pathsep.join([str(commands), str(Path(sys.executable).parent), os.environ["PATH"]]),
            "XDG_STATE_HOME": "",
        }

    def run(self, script: str) -> subprocess.CompletedProcess[str]:
        """Run lines of shell in the home, to the first that fails."""
        return subprocess.run(
            ["sh", "-e", "-c", script],
            cwd=self.home,
            env=self.environment,
            capture_output=True,
            encoding="utf-8",
            timeout=300,
        )

    def write(self, block: Block) -> None:
        """Write a block into the file it names, or into the keys of the file that it edits."""
        if edited := block.value("edit"):
            file = self.home / edited
            text = file.read_text(encoding="utf-8")
            for line in block.text.splitlines():
                if key := re.match(r"(\w+)\s*=", line):
                    text, replaced = re.subn(
                        rf"^(# )?{key[1]}\s*=.*$", lambda _, to=line: to, text, flags=re.M
                    )
                    assert replaced == 1, f"{edited} has the key {key[1]} {replaced} times"
            file.write_text(text, encoding="utf-8")
        elif block.path:
            file = self.home / block.path.removeprefix("~/")
            assert file.parent.is_dir(), f"README.md, line {block.line}: there is no folder {file.parent}"
            file.write_text(block.text, encoding="utf-8")


@pytest.fixture
def reader(tmp_path: Path, demo_night: DemoNight) -> Reader:
    """Return a reader who has run the first command of the README, which makes the demo laboratory."""
    reader = Reader(tmp_path / "home")
    shutil.copytree(demo_night.laboratory.root, reader.home / "demo-lab")
    return reader
