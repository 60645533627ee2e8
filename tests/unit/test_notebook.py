"""The notebook without a browser: run as a program, exported, served; its queries and error messages."""

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path
from types import SimpleNamespace

import pytest

from pipelines.errors import SheetloreError, UsageError
from pipelines.flows import steps
from pipelines.notebooks import explore, opening
from pipelines.notebooks.answers import query_frame
from pipelines.settings import Laboratory
from pipelines.warehouse.querying import ask

EXECUTABLE = Path(sys.executable).with_name("sheetlore")

MEANS = """
    SELECT trial_point, value
    FROM trial_point_property
    WHERE preferred AND trial = $trial AND property = $property AND direction = $direction
    ORDER BY trial_point
"""


def marimo(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "marimo", *map(str, arguments)],
        env=os.environ | opening.QUIET,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
    )


@pytest.fixture
def run(monkeypatch):
    """Run the notebook on a laboratory with replaced cell values; return the names that its cells define."""

    def run_on(laboratory, **instead):
        monkeypatch.setattr(sys, "argv", ["explore.py", "--", "--lab", str(laboratory.root)])
        _, names = explore.app.run(
            defs={name: SimpleNamespace(value=value) for name, value in instead.items()}
        )
        return names

    return run_on


@pytest.mark.slow
def test_the_notebook_passes_marimos_check():
    checked = marimo("check", "--strict", opening.SHIPPED)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_it_starts_with_a_trial_that_has_means(run, demo_night):
    names = run(demo_night.laboratory)
    first = ask(demo_night.snapshot, "SELECT min(trial) AS trial FROM trial_point").column("trial")[0].as_py()
    assert (names["trial"].value, names["quantity"].value, names["direction"].value) == (
        first,
        "tensile_index",
        "CD",
    )


def test_it_shows_the_means_of_the_snapshot_and_the_sheets_behind(run, demo_night):
    chosen = {"trial": "jet-to-wire ladder", "property": "tensile_stiffness_index", "direction": "MD"}
    names = run(
        demo_night.laboratory,
        trial=chosen["trial"], quantity=chosen["property"], direction=chosen["direction"],
    )  # fmt: skip
    means = ask(demo_night.snapshot, MEANS, chosen).to_pylist()
    assert names["points"].sort("trial_point").select("trial_point", "value").to_dicts() == means
    assert len(means) == 4
    by_point = {
        point: of_point["value"].mean() for (point,), of_point in names["sheets"].group_by("trial_point")
    }
    assert by_point == pytest.approx({mean["trial_point"]: mean["value"] for mean in means})


def test_a_property_without_direction_is_shown_too(run, demo_night):
    names = run(demo_night.laboratory, quantity="grammage")
    assert names["points"].height > 0
    assert set(names["points"]["unit"]) == {"g/m2"}


def test_the_chart_has_intervals_and_an_axis_with_the_unit(run, demo_night):
    names = run(demo_night.laboratory)
    chart = explore.means_chart(names["points"], names["sheets"], "Tensile index CD, N·m/g").to_dict()
    ticks, intervals, dots = chart["layer"]
    assert [layer["mark"]["type"] for layer in chart["layer"]] == ["tick", "rule", "point"]
    assert {layer["encoding"]["x"]["title"] for layer in chart["layer"]} == {"Tensile index CD, N·m/g"}
    assert (intervals["encoding"]["x"]["field"], intervals["encoding"]["x2"]["field"]) == (
        "interval_low",
        "interval_high",
    )
    assert len(chart["datasets"][ticks["data"]["name"]]) == names["sheets"].height
    assert len(chart["datasets"][dots["data"]["name"]]) == names["points"].height


@pytest.mark.slow
def test_the_export_contains_the_numbers_of_the_demo(demo_night, tmp_path):
    notebook = shutil.copy(opening.SHIPPED, tmp_path)
    page = tmp_path / "explore.html"
    exported = marimo("export", "html", notebook, "-o", page, "--", "--lab", demo_night.laboratory.root)
    assert exported.returncode == 0, exported.stderr
    text = page.read_text(encoding="utf-8")
    value = ask(
        demo_night.snapshot, "SELECT tensile_index_md_nm_g FROM trial_point WHERE trial_point = 'ratio 0.85'"
    ).column(0)[0]
    assert repr(value.as_py()) in text
    assert "Tensile index CD, N" in text


@pytest.mark.slow
def test_without_a_snapshot_the_notebook_says_what_to_do(tmp_path, demo_night):
    notebook = shutil.copy(opening.SHIPPED, tmp_path)
    exported = marimo(
        "export", "html", notebook, "-o", tmp_path / "page.html", "--", "--lab", tmp_path / "none"
    )
    assert exported.returncode == 0, exported.stderr
    assert "has no snapshot yet" in (tmp_path / "page.html").read_text(encoding="utf-8")


@pytest.mark.slow
def test_without_means_the_notebook_says_so(small, tmp_path):
    small.log("log.csv", "S-1,T,P,")
    steps.run(small)
    notebook = shutil.copy(opening.SHIPPED, tmp_path)
    exported = marimo("export", "html", notebook, "-o", tmp_path / "page.html", "--", "--lab", small.root)
    assert exported.returncode == 0, exported.stderr
    assert "No trial point has a mean yet" in (tmp_path / "page.html").read_text(encoding="utf-8")


# Queries


def test_a_misspelled_name_in_a_query_gets_a_suggestion(demo_night):
    shown = explore.show_result(demo_night.snapshot, "SELECT grammage FROM sheet").text
    assert "Did you mean" in shown
    assert "grammage_g_m2" in shown


def test_a_query_stays_text_in_the_message_about_it(demo_night):
    shown = explore.show_result(demo_night.snapshot, "SELECT '<img src=x>' FROM nowhere").text
    assert "nowhere" in shown
    assert "<img" not in shown


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("DROP TABLE sheet", "read-only"),
        ("FROM read_text('lab.toml')", "can only read the snapshot"),
        ("SELECT 1; SELECT 2", "one SQL statement"),
        ("", "one SQL statement"),
        ("SELECT 1 AS a, 2 AS a", "its own name"),
        ("SELECT INTERVAL 1 DAY AS i", "column::VARCHAR"),
    ],
)
def test_a_query_without_a_displayable_result_is_explained(demo_night, query, message):
    with pytest.raises(UsageError, match=re.escape(message)):
        query_frame(demo_night.snapshot, query)


def test_readers_of_one_server_can_query_at_the_same_time(demo_night):
    counts, errors = [], []

    def read():
        try:
            for _ in range(10):
                counts.append(
                    query_frame(demo_night.snapshot, "SELECT count(*) AS sheets FROM sheet")["sheets"][0]
                )
        except Exception as error:
            errors.append(error)

    readers = [threading.Thread(target=read) for _ in range(4)]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    assert errors == []
    assert len(counts) == 40
    assert len(set(counts)) == 1


# Opening


def test_without_marimo_the_message_says_what_to_install(command, demo_night, monkeypatch):
    monkeypatch.setattr(opening, "find_spec", lambda name: None)
    ended = command("notebook", "--lab", demo_night.laboratory.root)
    assert ended.code == 2
    assert "pip install marimo polars altair" in ended.err


def test_without_a_snapshot_nothing_is_served(small):
    with pytest.raises(SheetloreError, match="no snapshot yet"):
        opening.open_notebook(small)


def test_the_laboratorys_copy_is_created_once_and_kept(tmp_path):
    laboratory = Laboratory(tmp_path)
    copy = opening.own_copy(laboratory)
    assert copy.read_bytes() == opening.SHIPPED.read_bytes()
    copy.write_text("# changed", encoding="utf-8")
    assert opening.own_copy(laboratory).read_text(encoding="utf-8") == "# changed"


def status(address):
    """Request an address as a browser does; return the last status and the final address."""
    opener = urllib.request.build_opener(
        urllib.request.ProxyHandler({}), urllib.request.HTTPCookieProcessor()
    )
    try:
        with opener.open(address, timeout=30) as answer:
            return answer.status, answer.url
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.url
    except urllib.error.URLError:  # the address is printed some moments before it answers
        return None


@pytest.mark.slow
@pytest.mark.parametrize("options", [(), ("--edit",)])
def test_the_server_runs_for_holders_of_the_address_until_ctrl_c(demo_copy, options):
    served = subprocess.Popen(
        [EXECUTABLE, "notebook", "--no-browser",
         "--lab", str(demo_copy.root), *options],
        stdout=subprocess.PIPE, encoding="utf-8", start_new_session=True,
    )  # fmt: skip
    try:
        address = next(found[0] for line in served.stdout if (found := re.search(r"http://\S+", line)))
        until = time.monotonic() + 30
        while (answer := status(address)) is None and time.monotonic() < until:
            time.sleep(0.1)
        assert answer is not None
        assert answer[0] == 200
        without_token = status(address.partition("?")[0])
        assert without_token[0] == 401 or "/auth/login" in without_token[1]
    finally:
        os.killpg(served.pid, signal.SIGINT)
        try:
            code = served.wait(timeout=20)
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(served.pid, signal.SIGKILL)
            served.stdout.close()
    assert code == 0
    assert (demo_copy.root / "notebook.py").exists() == ("--edit" in options)
    assert not (opening.SHIPPED.parent / "__marimo__").exists()
