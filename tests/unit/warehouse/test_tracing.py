"""Tracing: each formula shown is the one that made the number, with the numbers that went in."""

import math
import re

import pytest

from pipelines.dictionary.declared import columns_of
from pipelines.errors import UsageError
from pipelines.warehouse import tracing
from pipelines.warehouse.connection import reading
from pipelines.warehouse.statements import names
from schemas.marts import marts
from schemas.records import KINDS

STEPS = {
    "layer": tracing.LAYER_STEPS,
    "sheet": tracing.SHEET_STEPS,
    "test_piece": tracing.piece_steps(),
}


def calculated(formula):
    """Return what a formula with its numbers put in comes to, without DuckDB."""
    functions = {"pi": lambda: math.pi, "cos": math.cos, "radians": math.radians}
    assert set(re.findall(r"[a-z_]+", re.sub(r"\de[+-]?\d", "", formula))) <= set(functions), formula
    return eval(formula, {"__builtins__": {}}, functions)


@pytest.fixture(scope="module")
def found(demo_night):
    return tracing.trace(demo_night.snapshot, "JW-001")


@pytest.mark.parametrize("table", STEPS)
def test_every_step_makes_a_column_by_a_macro_that_is_there(table):
    for step in STEPS[table]:
        assert step.column in columns_of(marts()[table])
        assert f"macros/{step.macro}" in names("macros")


def test_every_formula_of_a_sheet_comes_to_its_number(found):
    derivations = [
        *found["derivations"],
        *(step for layer in found["layers"] for step in layer["derivations"]),
        *(step for piece in found["pieces"] for step in piece["derivations"]),
        *(step for rows in found["records"].values() for row in rows for step in row["derivations"]),
    ]
    assert len({step["column"] for step in derivations}) > 18
    for step in derivations:
        # the numbers put in are shown to seven digits, and differences lose some of these
        assert calculated(step["with_numbers"]) == pytest.approx(step["value"], rel=1e-5), step
    stated = [
        *((found["sheet"], step) for step in found["derivations"]),
        *((layer, step) for layer in found["layers"] for step in layer["derivations"]),
        *((piece, step) for piece in found["pieces"] for step in piece["derivations"]),
    ]
    for row, step in stated:
        assert row[step["column"]] == pytest.approx(step["value"], rel=1e-9)


def test_every_made_number_of_every_piece_has_its_formula(found):
    for piece in found["pieces"]:
        made = {step["column"] for step in piece["derivations"]}
        assert made == {step.column for step in tracing.piece_steps() if piece[step.column] is not None}


def test_a_number_that_the_tester_states_has_no_formula(demo_night):
    """The tester with US units states the stiffness per width."""
    with reading(demo_night.snapshot) as connection:
        ((sheet_id,),) = connection.execute(
            "SELECT sheet_id FROM records.tensile WHERE max_slope_n_mm IS NULL AND tensile_stiffness_kn_m IS NOT NULL "
            "ORDER BY sheet_id LIMIT 1"
        ).fetchall()
    for piece in tracing.trace(demo_night.snapshot, sheet_id)["pieces"]:
        assert piece["tensile_stiffness_kn_m"] is not None
        assert "tensile_stiffness_kn_m" not in {step["column"] for step in piece["derivations"]}


def test_every_record_of_the_sheet_is_there_with_its_file(found, demo_night):
    files = {file["file_hash"]: file["file_name"] for file in found["files"]}
    with reading(demo_night.snapshot) as connection:
        for kind, rows in found["records"].items():
            (count,) = connection.execute(
                f"SELECT count(*) FROM records.{kind} WHERE sheet_id = 'JW-001'"
            ).fetchone()
            assert len(rows) == count
            for row in rows:
                assert files[row["file_hash"]] == row["file_name"]
                assert row["line_number"] >= 2
    of_no_sheet = {"furnish", "recipe", "tank", "climate", "stock"}
    assert set(found["records"]) == set(KINDS) - of_no_sheet


@pytest.mark.parametrize("sheet_id", ["JW-9999", "", "jw-001", "JW-001 ", "' OR 1=1 --", "%"])
def test_an_unknown_sheet_number_is_refused(demo_night, sheet_id):
    with pytest.raises(UsageError, match="not found: no record has this number"):
        tracing.trace(demo_night.snapshot, sheet_id)


def test_a_test_without_a_forming_log_is_traced_all_the_same(demo_night):
    with reading(demo_night.snapshot) as connection:
        ((sheet_id,),) = connection.execute("SELECT DISTINCT sheet_id FROM unmatched_test").fetchall()
    found = tracing.trace(demo_night.snapshot, sheet_id)
    assert found["sheet"] is None
    assert [len(rows) for rows in found["records"].values()] == [5]
