"""What README.md says, held against what the program does."""

import re
from pathlib import Path

import pytest

from pipelines.errors import ExitCode
from pipelines.flows import steps
from pipelines.intake.ingestion import ingest
from pipelines.intake.profile_matching import ArchivedFile
from pipelines.intake.profile_text import (
    Block,
    ColumnSource,
    Dialect,
    Part,
    PreambleValue,
    Recognise,
    Transpose,
    Wide,
    WideQuantity,
)
from pipelines.intake.profiles import load_profile
from pipelines.intake.units import conversion
from pipelines.settings import Laboratory
from pipelines.warehouse.querying import ask
from schemas.marts import marts
from schemas.records import KINDS

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def block(start: str) -> str:
    """Return the fenced block of the README that begins with a text."""
    found = re.search(rf"^```\w*\n({re.escape(start)}.*?)^```", README, re.S | re.M)
    assert found, f"README has no block that begins with {start!r}"
    return found[1]


def test_the_example_profile_reads_the_example_export(tmp_path: Path) -> None:
    laboratory = Laboratory(tmp_path)
    for folder in (laboratory.inbox, laboratory.exports):
        folder.mkdir()
    laboratory.settings_file.write_text("[intake]\nquiet_seconds = 0\n")
    (laboratory.exports / "tensile-a.toml").write_text(block('record = "tensile"'), encoding="utf-8")
    (laboratory.inbox / "x_tens_1.csv").write_bytes(block("Series 12").encode("cp1252"))
    report = steps.run(laboratory)
    assert not report.something_held
    rows = ask(
        report.snapshot,
        "SELECT sheet_id, direction, max_force_n, width_mm, span_mm, elongation_mm, operator, "
        "tested_at_utc::VARCHAR AS at FROM records.tensile ORDER BY line_number",
    ).to_pylist()
    assert [tuple(row.values()) for row in rows] == [
        ("S-104", "MD", 63.0, 15.0, 100.0, 2.4, "AB", "2026-10-01 07:00:00"),
        ("S-104", "CD", 31.5, 15.0, 100.0, 4.2, "AB", "2026-10-01 07:02:00"),
    ]
    account = ask(report.snapshot, "SELECT lines, preamble_lines, footer_lines FROM export_file").to_pylist()
    assert account == [{"lines": 8, "preamble_lines": 3, "footer_lines": 1}]


def ingest_block(
    profile: str, export: str, tmp_path: Path, encoding: str = "utf-8"
) -> list[dict[str, object]]:
    """Return the records of an export of the README, read by a profile of the README; no line is on hold."""
    path = tmp_path / "mine.toml"
    path.write_text(block(profile), encoding="utf-8")
    data = block(export).encode(encoding)
    result = ingest([ArchivedFile("hash", "export.csv", data)], [load_profile(path)], "Europe/Helsinki")
    assert not result.outcomes[0].rejections
    return [row for _, frame in result.records for row in frame.to_dict("records")]


def test_the_example_of_composed_values_is_read(tmp_path: Path) -> None:
    rows = ingest_block('record = "basis_weight"\ntester = "scale-b"', "Project;JW", tmp_path)
    assert [(row["sheet_id"], row["mass_g"], str(row["tested_at_utc"])) for row in rows] == [
        ("JW-104", 3.127, "2026-10-03 06:05:00"),
        ("JW-105", 3.08, "2026-10-03 06:07:00"),
    ]


def test_the_example_of_blocks_is_read(tmp_path: Path) -> None:
    rows = ingest_block('record = "thickness"\ntester = "micrometer-b"', "Operator: AB", tmp_path)
    assert [(row["sheet_id"], row["position_no"], row["thickness_um"], row["operator"]) for row in rows] == [
        ("S-104", 1, 90.5, "AB"),
        ("S-104", 2, 91.0, "AB"),
        ("S-105", 1, 92.5, "AB"),
    ]


def test_the_example_of_a_transposed_table_is_read(tmp_path: Path) -> None:
    rows = ingest_block('record = "thickness"\ntester = "micrometer-c"', "Sample;;S-104", tmp_path)
    assert [(row["sheet_id"], row["thickness_um"]) for row in rows] == [("S-104", 90.5), ("S-105", 92.0)]


@pytest.mark.parametrize(
    "model", [Block, Recognise, Dialect, ColumnSource, Part, PreambleValue, Transpose, Wide, WideQuantity]
)
def test_every_key_of_a_profile_is_named(model: type) -> None:
    for name, field in model.model_fields.items():
        assert re.search(rf"\b{field.alias or name}\b", README), name


def test_every_unit_named_is_known() -> None:
    sentence = re.search(r"\*\*Units\*\* are written as on a report: (.*?)\. A ream", README, re.S)
    assert sentence
    for unit in re.findall(r"`([^`]+)`", sentence[1]):
        assert conversion(unit, unit).factor == pytest.approx(1)


def test_every_table_and_kind_is_named() -> None:
    for name in (*marts(), *KINDS):
        assert f"`{name}`" in README, name


def test_a_traced_sheet_is_in_the_laboratory_that_is_asked() -> None:
    (log,) = re.findall(r"^```csv paper-lab/inbox/forming.csv\n.*?\n(.*?)^```", README, re.S | re.M)
    logged = set(re.findall(r"^(\S+?),", log, re.M))
    traced = re.findall(r"sheetlore trace (\S+) --lab ([\w-]+)", README)
    assert {laboratory for _, laboratory in traced} == {"paper-lab", "demo-lab"}
    for sheet_id, laboratory in traced:
        assert (sheet_id in logged) == (laboratory == "paper-lab"), f"trace {sheet_id} --lab {laboratory}"


def test_every_exit_code_is_told() -> None:
    told = re.findall(r"^\| (\d) \|", README, re.M)
    assert [int(code) for code in told] == [int(code) for code in ExitCode]
