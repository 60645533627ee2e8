"""Opening the notebook: a server on this machine that contacts nothing outside it."""

import os
import shutil
import signal
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

from pipelines.errors import UsageError
from pipelines.settings import Laboratory
from pipelines.warehouse.pointer import latest_snapshot

SHIPPED = Path(__file__).with_name("explore.py")

QUIET = {
    "MARIMO_SKIP_UPDATE_CHECK": "1",  # else it looks for a newer version on the package index
    "MARIMO_TRACING": "false",
    "MARIMO_RESTRICT_SHARING": "true",  # removes the buttons that publish a notebook
}
"""Environment variables that keep marimo from contacting anything outside this machine."""


def open_notebook(laboratory: Laboratory, edit: bool = False, browser: bool = True) -> int:
    """Serve the notebook on a laboratory until it is ended, and return the server's exit code.

    The shipped notebook is read-only; with ``edit`` it is the laboratory's own copy, which is created if missing.
    Raises UsageError when what it needs is not installed, SheetloreError without a snapshot.
    """
    missing = [name for name in ("marimo", "polars", "altair") if find_spec(name) is None]
    if missing:
        raise UsageError(
            f"The notebook needs {', '.join(missing)}.",
            f'Install what is missing: pip install {" ".join(missing)}, or in a checkout: pip install ".[notebook]"',
        )
    latest_snapshot(laboratory.published)
    notebook = own_copy(laboratory) if edit else SHIPPED
    command = [sys.executable, "-m", "marimo", "edit" if edit else "run", "--no-sandbox", "--token"]
    if not browser:
        command.append("--headless")
    with subprocess.Popen(  # noqa: S603
        [*command, str(notebook), "--", "--lab", str(laboratory.root)], env=os.environ | QUIET
    ) as server:
        before = signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server handles Ctrl-C and ends in order
        try:
            return server.wait()
        finally:
            signal.signal(signal.SIGINT, before)


def own_copy(laboratory: Laboratory) -> Path:
    """Return the laboratory's own notebook, a copy of the shipped one if missing."""
    copy = laboratory.root / "notebook.py"
    if not copy.exists():
        shutil.copyfile(SHIPPED, copy)
    return copy
