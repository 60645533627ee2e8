"""How commands start: what they load, and how they end when a signal comes meanwhile."""

import json
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


def loaded_by(*commands):
    """Return the top-level modules that commands load, one after the other in one process."""
    code = (
        "import json, sys\n"
        "from pipelines import __main__\n"
        "for arguments in json.loads(sys.argv[1]):\n"
        "    sys.argv[1:] = arguments\n"
        "    try: __main__.main()\n"
        "    except SystemExit as end: assert not end.code, (arguments, end.code)\n"
        "print(*{name.partition('.')[0] for name in sys.modules}, file=sys.stderr)\n"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, json.dumps(commands)], capture_output=True, text=True, check=True
    )
    return set(ended.stderr.splitlines()[-1].split())


def test_help_loads_nothing_that_works_with_data():
    modules = loaded_by(["--help"], ["nightly", "--help"], ["sql", "--help"], ["--version"])
    assert modules & (HEAVY | {"duckdb", "numpy", "pyarrow", "rich"}) == set()


def test_held_loads_the_database_alone(demo_night):
    lab = ["--lab", str(demo_night.laboratory.root)]
    modules = loaded_by(["held", *lab], ["held", "--closed", *lab], ["held", "--json", *lab])
    assert "duckdb" in modules
    assert modules & (HEAVY | {"numpy", "pyarrow"}) == set()


def test_a_query_loads_the_database_alone(demo_night):
    query = "SELECT sheet_id, grammage_g_m2, formed_at_utc, NULL AS empty FROM sheet"
    lab = ["--lab", str(demo_night.laboratory.root)]
    modules = loaded_by(
        *(["sql", query, "--format", form, *lab] for form in ("table", "csv", "json", "markdown"))
    )
    assert "duckdb" in modules
    assert modules & (HEAVY | {"numpy", "pyarrow"}) == set()


LOADING = {
    "typer": ["--help"],
    "duckdb": ["sql", "SELECT 1"],
    "pandera.pandas": ["nightly", "--direct"],
    "pandas": ["trace", "S1"],
    "prefect": ["nightly"],
}
"""A module that takes long to import, and a command that imports it."""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("module", "arguments", "number", "code"),
    [
        pytest.param(
            module,
            arguments,
            number,
            code,
            id=f"{module}-{code}",
            marks=pytest.mark.slow if code == 143 and module in ("pandera.pandas", "prefect") else (),
        )
        for module, arguments in LOADING.items()
        for number, code in ((signal.SIGINT, 130), (signal.SIGTERM, 143))
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
