"""The commands that install, upgrade and uninstall Sheetlore, run with uv in a folder of their own."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from readme_blocks import blocks

CHECKOUT = Path(__file__).parents[2]
PARTS = ("pyproject.toml", "README.md", "LICENSE", "pipelines", "schemas", "sql")


@pytest.mark.slow
@pytest.mark.skipif(not shutil.which("uv"), reason="there is no uv here")
def test_a_checkout_is_installed_upgraded_and_uninstalled(tmp_path: Path) -> None:
    checkout, commands = tmp_path / "checkout", tmp_path / "bin"
    checkout.mkdir()
    for part in PARTS:
        copied = shutil.copytree if (CHECKOUT / part).is_dir() else shutil.copyfile
        copied(CHECKOUT / part, checkout / part)
    environment = os.environ | {"UV_TOOL_DIR": str(tmp_path / "tools"), "UV_TOOL_BIN_DIR": str(commands)}

    def run(command: str) -> str:
        ended = subprocess.run(
            ["sh", "-e", "-c", command], cwd=checkout, env=environment, capture_output=True, text=True
        )
        assert ended.returncode == 0, ended.stderr
        return ended.stdout

    (install,) = {
        line
        for block in blocks()
        if block.language == "sh"
        for line in block.text.splitlines()
        if line == "uv tool install ."
    }
    (upgrade,) = (
        line for block in blocks() for line in block.text.splitlines() if "--reinstall-package" in line
    )
    (uninstall,) = (
        line for block in blocks() for line in block.text.splitlines() if "tool uninstall" in line
    )

    run(install)
    assert run(f"{commands}/sheetlore --version").strip() == "sheetlore 0.1.0"
    project = checkout / "pyproject.toml"
    project.write_text(
        re.sub(r'^version = ".*"$', 'version = "9.9.9"', project.read_text(), count=1, flags=re.M)
    )
    run(upgrade)
    assert run(f"{commands}/sheetlore --version").strip() == "sheetlore 9.9.9"
    run(uninstall)
    assert not (commands / "sheetlore").exists()
