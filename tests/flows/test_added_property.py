"""Adding a property is adding an entry to the registry: it is then in every table, document, page and trace."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import pipelines
from pipelines.warehouse.connection import reading

ENTRY = """
[tensile_stress]
unit = "GPa"
description = "Tensile strength over the sheet's mean thickness."
source = "made up for a test"
powers = { tensile_strength = 1, thickness = -1 }
"""

NUMBERS = """
    SELECT
        max(abs(value * thickness_um / tensile_strength_md_kn_m - 1)) AS worst,
        count(*) AS n,
        count(standard_uncertainty) AS n_uncertain,
        bool_and(pressure_kpa = 100) AS at_one_pressure
    FROM sheet_property INNER JOIN sheet USING (sheet_id)
    WHERE property = 'tensile_stress' AND sheet_property.direction = 'MD'
"""


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    """The demo laboratory as a copy of Sheetlore makes it whose registry has one more entry."""
    folder = tmp_path_factory.mktemp("added")
    for package in ("pipelines", "schemas", "sql"):
        shutil.copytree(Path(pipelines.__file__).parents[1] / package, folder / package)
    with (folder / "schemas/properties/tensile.toml").open("a", encoding="utf-8") as registry:
        registry.write(ENTRY)
    run = "from pipelines.cli import main; main()"
    for arguments in (("demo", "lab", "--sheets", "24", "--direct"), ("trace", "JW-001", "--lab", "lab")):
        ended = subprocess.run(
            [sys.executable, "-c", run, *arguments],
            cwd=folder, env=os.environ | {"PYTHONPATH": str(folder)}, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert ended.returncode == 0, ended.stderr
    (folder / "trace.txt").write_text(ended.stdout, encoding="utf-8")
    return folder / "lab"


@pytest.mark.slow
def test_it_is_in_every_table(lab):
    with reading(lab / "published/latest/sheetlore.duckdb") as snapshot:
        worst, n, n_uncertain, at_one_pressure = snapshot.execute(NUMBERS).fetchone()
        assert worst < 1e-12
        assert n == n_uncertain > 0
        assert at_one_pressure
        for table, column in (
            ("test_piece", "tensile_stress_gpa"),
            ("sheet", "tensile_stress_cd_gpa"),
            ("trial_point", "tensile_stress_geometric_mean_gpa"),
            ("trial_point", "tensile_stress_md_s_gpa"),
        ):
            assert snapshot.execute(f"SELECT count({column}) FROM {table}").fetchone()[0] > 0, column
        assert snapshot.execute(
            "SELECT count(*) FROM trial_point_property WHERE property = 'tensile_stress' AND direction = 'MD/CD'"
        ).fetchone()[0]
        assert snapshot.execute("SELECT tensile_stress_gpa(5, 100)").fetchone()[0] == 0.05
        assert snapshot.execute(
            "SELECT count(*) FROM jet_to_wire_response WHERE property = 'tensile_stress'"
        ).fetchone()[0]


@pytest.mark.slow
def test_it_is_in_the_documents_the_page_and_the_trace(lab):
    assert "tensile_stress_md_gpa" in (lab / "published/dictionary.md").read_text(encoding="utf-8")
    assert "tensile_stress_md_gpa" in (lab / "published/contract.odcs.yaml").read_text(encoding="utf-8")
    assert "tensile_strength_kn_m / thickness_um" in (lab.parent / "trace.txt").read_text(encoding="utf-8")
    trials = (lab / "published/site/trial").glob("*.html")
    assert any("tensile_stress" in page.read_text(encoding="utf-8") for page in trials)
