"""A laboratory's own property: one entry and one profile put it into every table, document, page and trace."""

import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import pipelines
from pipelines.warehouse.connection import reading

pytestmark = pytest.mark.slow

PROPERTIES = """
[dust]
unit = "mg"
description = "Mass of the dust that a sheet gives off in the shaker."
source = "made up for a test"
readings = "further"
standard_atmosphere = false
limits = [0, 90]

[dust_index]
unit = "mg.m2/g"
description = "Dust over grammage."
source = "made up for a test"
powers = { dust = 1, grammage = -1 }
"""

PROFILE = """
record = "further"
tester = "shaker"

[recognise]
header = ["Sheet", "Dust"]

[columns]
sheet_id = "Sheet"
property = { value = "dust" }
specimen_no = "No"
value = { from = "Dust", unit = "g" }
"""

READINGS = "Sheet,No,Dust\nJW-001,1,0.010\nJW-001,2,0.014\nJW-002,1,0.020\nJW-002,2,0.022\nJW-002,3,0.200\n"
"""The last reading is beyond the limits of the property."""

CHECKOUT = Path(pipelines.__file__).parents[1]


def from_wheel(folder: Path) -> Path:
    """Return a folder with what a wheel installs."""
    uv = shutil.which("uv", path=os.pathsep.join([os.environ["PATH"], str(Path(sys.executable).parent)]))
    subprocess.run([uv, "build", "--quiet", "--wheel", "--out-dir", folder, CHECKOUT], check=True)
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(folder / "installed")
    return folder / "installed"


@pytest.fixture(scope="module", params=["checkout", pytest.param("wheel", marks=pytest.mark.slow)])
def lab(request, tmp_path_factory):
    """A demo laboratory with the property; ``trace.txt`` beside it is the trace of a sheet."""
    folder = tmp_path_factory.mktemp("own")
    code = CHECKOUT if request.param == "checkout" else from_wheel(folder)

    def sheetlore(*arguments: str, exit_code: int = 0) -> str:
        run = subprocess.run(
            [sys.executable, "-c", "from pipelines.cli import main; main()", *arguments], cwd=folder, check=False,
            env=os.environ | {"PYTHONPATH": str(code)}, capture_output=True, text=True,
        )  # fmt: skip
        assert run.returncode == exit_code, run.stderr
        return run.stdout

    sheetlore("demo", "lab", "--sheets", "24", "--direct")
    for name, text in (
        ("properties/dust.toml", PROPERTIES), ("exports/dust.toml", PROFILE), ("inbox/dust.csv", READINGS)
    ):  # fmt: skip
        path = folder / "lab" / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    sheetlore("nightly", "--lab", "lab", "--direct", exit_code=3)
    explained = ("sql", "SELECT dust_mg FROM sheet", "--out", "dust.xlsx", "--lab", "lab")
    sheetlore(*explained)
    (folder / "trace.txt").write_text(sheetlore("trace", "JW-001", "--lab", "lab"), encoding="utf-8")
    return folder / "lab"


@pytest.fixture
def snapshot(lab):
    with reading(lab / "published/latest/sheetlore.duckdb") as connection:
        yield connection


def test_its_readings_are_imported_in_its_unit_and_held_beyond_its_limits(snapshot):
    assert snapshot.execute(
        "SELECT sheet_id, value, unit FROM records.further WHERE property = 'dust' ORDER BY ALL"
    ).fetchall() == [("JW-001", 10, "mg"), ("JW-001", 14, "mg"), ("JW-002", 20, "mg"), ("JW-002", 22, "mg")]
    assert snapshot.execute("SELECT what FROM held_row WHERE file_name = 'dust.csv'").fetchall() == [
        ("'0.200' gives a value beyond the limits of dust, 0 to 90 mg.",)
    ]


def test_it_is_in_every_table(snapshot):
    assert snapshot.execute(
        "SELECT count(*), bool_and(in_means), count(atmosphere_verdict) FROM reading WHERE property = 'dust'"
    ).fetchone() == (4, True, 0)
    rows = snapshot.execute(
        """
        SELECT value.sheet_id, value.n, value.value / 1000, made.value * sheet.grammage_g_m2 / value.value
        FROM sheet_property AS value
        INNER JOIN sheet_property AS made ON value.sheet_id = made.sheet_id
        INNER JOIN sheet ON value.sheet_id = sheet.sheet_id
        WHERE value.property = 'dust' AND made.property = 'dust_index' AND made.preferred
        ORDER BY ALL
        """
    ).fetchall()
    assert rows == [
        ("JW-001", 2, pytest.approx(0.012), pytest.approx(1, rel=1e-12)),
        ("JW-002", 2, pytest.approx(0.021), pytest.approx(1, rel=1e-12)),
    ]
    for table, column in (
        ("sheet", "dust_mg"),
        ("sheet", "dust_index_mgm2_g"),
        ("trial_point", "dust_mg"),
        ("trial_point", "dust_s_mg"),
    ):
        assert snapshot.execute(f"SELECT count({column}) FROM {table}").fetchone()[0] > 0, column
    assert snapshot.execute(
        "SELECT value, n_sheets FROM trial_point_property WHERE property = 'dust'"
    ).fetchall() == [(pytest.approx(16.5), 2)]
    assert snapshot.execute("SELECT dust_index_mgm2_g(13, 65)").fetchone()[0] == 0.2
    assert snapshot.execute("SELECT unit FROM property WHERE property = 'dust'").fetchone() == ("mg",)


def test_it_is_in_the_documents_the_page_and_the_trace(lab):
    assert "dust_index_mgm2_g" in (lab / "published/dictionary.md").read_text(encoding="utf-8")
    assert "dust_index_mgm2_g" in (lab / "published/contract.odcs.yaml").read_text(encoding="utf-8")
    trace = (lab.parent / "trace.txt").read_text(encoding="utf-8")
    assert re.search(r"dust\b.*12\b.*mg", trace)
    pages = [page.read_text(encoding="utf-8") for page in (lab / "published/site").glob("*/*.html")]
    assert any("Dust index" in page for page in pages)
    assert any("dust_index" in page for page in pages)
    with zipfile.ZipFile(lab.parent / "dust.xlsx") as workbook:
        sheets = [workbook.read(name).decode() for name in workbook.namelist() if "worksheets/sheet" in name]
    assert "Mass of the dust that a sheet gives off in the shaker." in "".join(sheets)
