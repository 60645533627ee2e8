"""The README's recipes for other programs, taken from its text and run on the demo laboratory as it says."""

import os
import re
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import openpyxl
import polars
import pyarrow
import pytest
from pyarrow import dataset

from pipelines.flows import steps
from pipelines.warehouse.connection import reading
from schemas.marts import marts

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def recipe(heading):
    """The block of a recipe, known by the bold words that begin it."""
    found = re.search(rf"^\*\*{re.escape(heading)}.*?```\w+\n(.*?)```", README, re.S | re.M)
    assert found, heading
    return found[1]


@pytest.fixture
def demo_lab(demo_night, tmp_path, monkeypatch):
    """The demo laboratory under the name that the recipes give it, in the folder to work in."""
    (tmp_path / "demo-lab").symlink_to(demo_night.laboratory.root)
    monkeypatch.chdir(tmp_path)
    return demo_night


def rows(ran, query):
    with reading(ran.snapshot) as connection:
        return connection.execute(query).fetchall()


def in_python(block):
    """Run a recipe in Python and return the names it leaves."""
    names = {}
    exec(compile(block, "README.md", "exec"), names)
    return names


def in_shell(block):
    """Run a recipe in a shell that finds this environment's commands, and return what it prints."""
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
    done = subprocess.run(
        ["sh", "-e", "-c", block],
        env=os.environ | {"PATH": path},
        capture_output=True,
        encoding="utf-8",
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_command_line(demo_lab):
    printed = in_shell(recipe("Command line"))
    expected = rows(
        demo_lab,
        "SELECT trial_point, value FROM trial_point_property "
        "WHERE property = 'tensile_index' AND direction = 'CD' AND preferred ORDER BY value DESC LIMIT 5",
    )
    shown = [re.findall(r"[^│]+", line) for line in printed.splitlines() if "N.m/g" in line]
    assert len(shown) == 5
    assert [(trial_point.strip(), float(value)) for _, trial_point, value, _ in shown] == expected


def test_pandas(demo_lab):
    names = in_python(recipe("Python with pandas"))
    pieces, sheets = names["pieces"], names["sheets"]
    expected = rows(
        demo_lab,
        "SELECT direction, avg(tensile_index_nm_g) FROM test_piece WHERE in_means GROUP BY ALL ORDER BY ALL",
    )
    means = pieces.groupby("direction")["index_nm_g"].mean()
    assert list(means.items()) == [(direction, pytest.approx(mean)) for direction, mean in expected]
    expected = rows(
        demo_lab, "SELECT trial, avg(apparent_density_kg_m3) FROM sheet GROUP BY ALL ORDER BY ALL"
    )
    means = sheets.groupby("trial")["apparent_density_kg_m3"].mean()
    assert list(means.items()) == [(trial, pytest.approx(mean)) for trial, mean in expected]
    assert sheets["formed_at_utc"].dtype == "datetime64[us]"


def test_polars(demo_lab):
    names = in_python(recipe("Python with polars"))
    ((readings,),) = rows(demo_lab, "SELECT count(*) FROM records.climate WHERE record_status = 'loaded'")
    assert len(names["climate"]) == readings > 1000
    assert names["climate"].schema["read_at_utc"] == polars.Datetime("us")
    expected = rows(
        demo_lab,
        "SELECT sheet_id, apparent_density_kg_m3 FROM sheet WHERE apparent_density_kg_m3 > 600 ORDER BY ALL",
    )
    assert 0 < len(expected) < 60
    assert sorted(names["dense"].rows()) == expected


def test_a_spreadsheet(demo_lab):
    in_shell(recipe("A spreadsheet"))
    sheet = openpyxl.load_workbook("trial-points.xlsx").worksheets[0]
    head, *lines = sheet.iter_rows(values_only=True)
    with reading(demo_lab.snapshot) as connection:
        expected = connection.execute("FROM trial_point").to_arrow_table()
    assert list(head) == expected.column_names
    assert len(lines) == expected.num_rows
    for line, row in zip(lines, expected.to_pylist(), strict=True):
        for cell, (name, value) in zip(line, row.items(), strict=True):
            if isinstance(value, bool | str | datetime | None):
                assert cell == value, name
            else:
                assert not isinstance(cell, str), name
                assert cell == pytest.approx(value, rel=1e-14), name
    assert any(isinstance(value, datetime) for value in lines[0])


def test_a_bi_tool(demo_lab, capsys):
    names = in_python(recipe("A dashboard or BI tool"))
    printed = capsys.readouterr().out
    for name, column in marts()["trial_point_property"].to_schema().columns.items():
        assert re.search(rf"^{name} \S+ .*{re.escape(column.description)}$", printed, re.M), name
    expected = rows(
        demo_lab,
        "SELECT trial, trial_point, value, unit FROM trial_point_property "
        "WHERE property = 'tensile_stiffness_index' AND direction = 'CD' AND preferred ORDER BY ALL",
    )
    assert len(expected) == 12
    assert sorted(tuple(row.values()) for row in names["stiffness"].to_pylist()) == expected


# A BI tool in general, for which pyarrow.dataset stands in


def table(laboratory, mart):
    return dataset.dataset(laboratory.published / "latest" / f"{mart}.parquet", format="parquet")


def test_every_table_is_found_by_the_pattern(demo_night):
    found = {path.stem for path in (demo_night.laboratory.published / "latest").glob("*.parquet")}
    assert found == set(marts())


def test_types_are_such_as_every_tool_knows(demo_night):
    types = {field.type for mart in marts() for field in table(demo_night.laboratory, mart).schema}
    numbers = {kind for kind in types if pyarrow.types.is_list(kind)}
    assert types - numbers == {
        pyarrow.string(), pyarrow.float64(), pyarrow.int64(), pyarrow.bool_(), pyarrow.timestamp("us"),
    }  # fmt: skip
    assert {kind.value_type for kind in numbers} == {pyarrow.float64()}


def test_a_filter_is_answered_by_what_the_file_says_of_its_parts(demo_night):
    (file,) = table(demo_night.laboratory, "sheet").get_fragments()
    density = dataset.field("apparent_density_kg_m3")
    assert len(file.split_by_row_group(density > 0)) == 1
    assert file.split_by_row_group(density > 5000) == []
    assert file.split_by_row_group(dataset.field("formed_at_utc") < datetime(2000, 1, 1)) == []


def test_a_tool_that_reads_again_after_a_run_sees_the_new_values(small):
    small.settings_file.write_text(
        small.settings_file.read_text() + '[atmosphere]\nadmitted = ["unverified"]\n'
    )
    small.log("log.csv", "S1,T,P,")
    seen = []
    for spot, thickness in ((1, 100), (2, 110)):
        small.readings(f"{spot}.csv", f"S1,{spot},{thickness},AB")
        steps.run(small)
        seen += table(small, "sheet").to_table(columns=["thickness_um"]).to_pylist()
    assert seen == [{"thickness_um": 100.0}, {"thickness_um": 105.0}]
