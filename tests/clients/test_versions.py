"""Snapshots as other versions of DuckDB read them: the oldest that is supported, some between, and the newest."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("look_at_snapshot.py")
UV = shutil.which("uv", path=os.pathsep.join([os.environ["PATH"], str(Path(sys.executable).parent)]))


def answer_of(command, snapshot, folder):
    """What the script finds when a command runs it."""
    done = subprocess.run(
        [*command, SCRIPT, snapshot], cwd=folder, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def as_good_as(cell):
    """Sums differ in their last digits by the order in which a version adds."""
    return pytest.approx(cell, rel=1e-12) if isinstance(cell, float) else cell


@pytest.fixture(scope="module")
def expected(demo_night):
    """What the version finds that Sheetlore itself runs with."""
    return answer_of([sys.executable], demo_night.snapshot, demo_night.laboratory.root)["found"]


@pytest.mark.slow
@pytest.mark.skipif(UV is None, reason="uv, which makes the environments of other versions, is not on PATH")
@pytest.mark.parametrize(
    "version",
    [
        pytest.param(
            version,
            marks=pytest.mark.skipif(
                sys.version_info >= (3, 14) and version < "1.4",
                reason="this version of duckdb is older than Python 3.14 and has no wheel for it",
            ),
        )
        for version in ("1.2.2", "1.3.2", "1.4.*", "1.5.*")
    ],
)
def test_a_client_finds_the_same_in_a_snapshot(version, demo_night, expected, tmp_path):
    environment = ["--isolated", "--no-project", "--python", sys.executable, "--with", f"duckdb=={version}"]
    answer = answer_of(
        [UV, "run", "--quiet", "--no-build", *environment, "python"], demo_night.snapshot, tmp_path
    )
    assert answer["version"].startswith(version.rstrip("*"))
    assert answer["found"].keys() == expected.keys()
    for name, rows in answer["found"].items():
        assert rows == [[as_good_as(cell) for cell in row] for row in expected[name]], name


def test_the_questions_have_answers(expected):
    """Equal answers say nothing where they are empty."""
    assert expected["mart"][0][0] == 60
    assert expected["record table"][0][0] > 1000
    assert expected["macro"] == [[expected["macro"][0][0], True]]
    assert "Unit: g/m2." in expected["comment on a column"][0][0]
    assert all(comment for _, comment in expected["comments on macros"])
    assert expected["refusal to write"] == [["InvalidInputException"]]
    assert all(rows for rows in expected.values())
