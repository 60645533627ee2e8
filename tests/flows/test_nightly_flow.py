"""The run as a Prefect flow: the same numbers as without Prefect, a report, retries, and a server of one's own.

Each test runs in a process of its own, with a home for Prefect that nothing else uses.
"""

import json
import os
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request

import pytest
from snapshots import assert_same

from pipelines.demo import laboratory as demo_laboratory
from pipelines.flows.summary import LABELS
from pipelines.warehouse.pointer import latest_snapshot

pytestmark = pytest.mark.slow

TASKS = [
    "collect",
    "ingest",
    "resolve_duplicates",
    "reduce_curves",
    "build_models",
    "run_checks",
    "publish",
    "render",
]

FAULTY_RUNS = """
import sys
from pathlib import Path
from pipelines.errors import SheetloreError
from pipelines.flows import prefect_environment, steps
from pipelines.settings import Laboratory
from pipelines.warehouse import building

laboratory = Laboratory(Path(sys.argv[1]))
prefect_environment.prepare(laboratory.root / ".prefect")
from pipelines.flows import nightly

build, tried = building.build_models, []

def build_at_second_try(connection):
    build(connection)
    tried.append("build")
    if len(tried) == 1:
        raise OSError("the storage was away for a moment")

building.build_models = build_at_second_try
nightly.run(laboratory)
print(*tried)

def broken_checks(connection):
    tried.append("check")
    raise SheetloreError("a rule is broken")

building.broken_checks = broken_checks
(laboratory.inbox / "second.csv").write_text("sheet,spot,um,who\\nS1,2,101,AB\\n")
try:
    nightly.run(laboratory)
except SheetloreError as error:
    print(*tried, error.what)
"""


def told_to_server(laboratory, query):
    """Return rows of the database of Prefect's temporary server."""
    with sqlite3.connect(laboratory.root / ".prefect" / "prefect.db") as connection:
        return connection.execute(query).fetchall()


@pytest.fixture
def without_server(monkeypatch):
    for name in [name for name in os.environ if name.startswith("PREFECT_")]:
        monkeypatch.delenv(name)


def test_the_flow_gives_the_numbers_of_the_plain_steps_and_reports_them(
    without_server, process, demo_night, tmp_path
):
    twin = demo_laboratory.write(tmp_path / "lab").laboratory
    ended = process("nightly", "--json", "--lab", twin.root)
    assert ended.returncode == 3, ended.stderr
    assert_same(latest_snapshot(twin.published), demo_night.snapshot)
    assert json.loads(ended.stdout)["rows_loaded"] == demo_night.report.night["rows_loaded"]
    assert "Traceback" not in ended.stderr
    assert f"Collected: {demo_night.report.night['files_read']} new files" in ended.stderr

    assert told_to_server(twin, "SELECT state_type FROM flow_run") == [("COMPLETED",)]
    tasks = told_to_server(twin, "SELECT name, state_type, run_count FROM task_run ORDER BY start_time")
    assert [(name.partition("-")[0], *how) for name, *how in tasks] == [
        (name, "COMPLETED", 1) for name in TASKS
    ]
    (artifact,) = told_to_server(twin, "SELECT data FROM artifact WHERE key = 'night' AND type = 'markdown'")
    markdown = json.loads(artifact[0])
    for name, label in LABELS.items():
        assert f"| {label} | {demo_night.report.night[name]} |" in markdown
    assert r"| orders.csv | whole |" in markdown


def test_faults_of_the_storage_are_tried_again_and_broken_rules_are_not(without_server, small):
    small.readings("first.csv", "S1,1,100,AB", "S1,2,-1,AB")
    ended = subprocess.run(
        [sys.executable, "-c", FAULTY_RUNS, small.root], capture_output=True, text=True, timeout=300
    )
    assert ended.returncode == 0, ended.stderr
    tried = [line for line in ended.stdout.splitlines() if line.startswith("build")]
    assert tried == ["build build", "build build build check a rule is broken"], ended.stdout + ended.stderr
    tasks = told_to_server(small, "SELECT name, state_type, run_count FROM task_run ORDER BY start_time")
    assert [
        row
        for name, *how in tasks
        if (row := (name.partition("-")[0], *how))[0] in ("build_models", "run_checks")
    ] == [
        ("build_models", "COMPLETED", 2),
        ("run_checks", "COMPLETED", 1),
        ("build_models", "COMPLETED", 1),
        ("run_checks", "FAILED", 1),
    ]
    assert told_to_server(small, "SELECT state_type FROM flow_run ORDER BY start_time") == [
        ("COMPLETED",),
        ("FAILED",),
    ]
    assert not list(small.root.glob("warehouse.run*"))


@pytest.fixture
def server(without_server, tmp_path):
    """A Prefect server on this machine alone; gives the address of its API."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    api = f"http://127.0.0.1:{port}/api"
    home = {
        "PREFECT_HOME": str(tmp_path / "server"),
        "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
        "DO_NOT_TRACK": "1",
    }
    with (tmp_path / "server.log").open("w") as log:
        serving = subprocess.Popen(
            [sys.executable, "-m", "prefect", "server", "start", "--host", "127.0.0.1", "--port", str(port)],
            env=os.environ | home,
            stdout=log,
            stderr=log,
        )
    try:
        while True:
            try:
                urllib.request.urlopen(f"{api}/health", timeout=5).close()
                break
            except OSError:
                assert serving.poll() is None, (tmp_path / "server.log").read_text()
                time.sleep(0.2)
        yield api
    finally:
        serving.terminate()
        serving.wait(60)


def asked(api, what):
    request = urllib.request.Request(
        f"{api}/{what}/filter", data=b"{}", headers={"Content-Type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=30) as answer:
        return json.load(answer)


def test_a_server_that_stands_records_the_run(server, process, small):
    small.readings("first.csv", "S1,1,100,AB")
    ended = process("nightly", "--lab", small.root, PREFECT_API_URL=server)
    assert ended.returncode == 0, ended.stderr
    (run,) = asked(server, "flow_runs")
    assert (run["name"], run["state_type"]) == (str(small.root), "COMPLETED")
    assert sorted(task["name"].partition("-")[0] for task in asked(server, "task_runs")) == sorted(TASKS)
    (artifact,) = asked(server, "artifacts")
    assert (artifact["key"], artifact["description"]) == ("night", "Run of small")
    assert "| Rows used | 1 |" in artifact["data"]
    assert not (small.root / ".prefect" / "prefect.db").exists(), "no temporary server beside it"
