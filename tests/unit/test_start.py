"""How commands start: what they load, and how they end when a signal comes meanwhile."""

import os
import signal
import subprocess
import sys

import pytest

HEAVY = {
    "pandas",
    "pandera",
    "scipy",
    "pint",
    "prefect",
    "altair",
    "vl_convert",
    "jinja2",
    "sqlalchemy",
    "marimo",
}
"""Modules that take long to import."""

SIGNALLING = """\
import importlib.abc, os, signal, sys

class Signalling(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path, target=None):
        if name == os.environ["SIGNAL_WHEN_LOADING"]:
            os.kill(os.getpid(), int(os.environ["SIGNAL"]))

sys.meta_path.insert(0, Signalling())
signal.signal(signal.SIGINT, signal.default_int_handler)  # as in a terminal
"""
"""A sitecustomize module that sends the process a signal when it begins to import a certain module."""


def loaded_by(*arguments):
    """Return the top-level modules that a command loads."""
    code = (
        "import sys\n"
        "from pipelines import __main__\n"
        "try: __main__.main()\n"
        "except SystemExit as end: assert not end.code, end.code\n"
        "finally: print(*{name.partition('.')[0] for name in sys.modules}, file=sys.stderr)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, *map(str, arguments)], capture_output=True, text=True, check=True
    )
    return set(ended.stderr.splitlines()[-1].split())


def test_help_loads_nothing_that_works_with_data():
    for arguments in (["--help"], ["nightly", "--help"], ["sql", "--help"], ["--version"]):
        assert loaded_by(*arguments) & (HEAVY | {"duckdb", "numpy", "pyarrow", "rich"}) == set(), arguments


def test_held_loads_the_database_alone(demo_night):
    for arguments in (["held"], ["held", "--closed"], ["held", "--json"]):
        modules = loaded_by(*arguments, "--lab", demo_night.laboratory.root)
        assert "duckdb" in modules
        assert modules & (HEAVY | {"numpy", "pyarrow"}) == set(), arguments


@pytest.mark.parametrize("form", ["table", "csv", "json", "markdown"])
def test_a_query_loads_the_database_alone(demo_night, form):
    query = "SELECT sheet_id, grammage_g_m2, formed_at_utc, NULL AS empty FROM sheet"
    modules = loaded_by("sql", query, "--format", form, "--lab", demo_night.laboratory.root)
    assert "duckdb" in modules
    assert modules & (HEAVY | {"numpy", "pyarrow"}) == set()


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
@pytest.mark.parametrize(
    ("module", "arguments"),
    [
        ("typer", ["--help"]),
        ("duckdb", ["sql", "SELECT 1"]),
        ("pandera.pandas", ["nightly", "--direct"]),
        ("pandas", ["trace", "S1"]),
        ("prefect", ["nightly"]),
    ],
)
def test_a_signal_while_modules_load_ends_in_one_line(small, tmp_path, number, code, module, arguments):
    (tmp_path / "sitecustomize.py").write_text(SIGNALLING)
    ended = subprocess.run(
        [
            sys.executable,
            "-m",
            "pipelines",
            *arguments,
            *([] if "--help" in arguments else ["--lab", small.root]),
        ],
        env=os.environ
        | {"PYTHONPATH": str(tmp_path), "SIGNAL_WHEN_LOADING": module, "SIGNAL": str(int(number))},
        capture_output=True,
        text=True,
    )
    assert ended.returncode == code, ended.stderr
    assert [line for line in ended.stderr.splitlines() if not line.startswith("Starting Prefect")] == [
        "Stopped. A run that has not finished changes nothing."
    ]
    assert ended.stdout == ""
    assert not small.warehouse.exists()
