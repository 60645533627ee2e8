"""The cookbook: every question is answered by its query on the demo laboratory, in one row per what its head says."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from readme_blocks import chapter
from scipy import stats

from pipelines.warehouse import query_text
from pipelines.warehouse.connection import reading

COOKBOOK = Path(__file__).parents[2] / "fixtures" / "cookbook"
RECIPES = {path.stem: path.read_text(encoding="utf-8") for path in sorted(COOKBOOK.glob("*.sql"))}
PROPERTY = ["property", "direction"]


def head(recipe: str, key: str) -> str | None:
    """Return what the head of a recipe says under a key; it may go over several lines."""
    found = re.search(rf"^-- {key}: (.*(?:\n--     .*)*)", RECIPES[recipe], re.M)
    return re.sub(r"\n--    ", "", found[1]) if found else None


def defaults(recipe: str) -> dict[str, int | float | str]:
    return dict(query_text.parameter(text) for text in (head(recipe, "Parameters") or "").split(", ") if text)


@pytest.fixture
def answer(demo_night):
    """Answer a recipe on the demo laboratory, with its own parameters or with others."""

    def ask(recipe: str, **parameters) -> pd.DataFrame:
        with reading(demo_night.snapshot) as connection:
            return connection.execute(RECIPES[recipe], defaults(recipe) | parameters or None).df()

    return ask


@pytest.fixture
def table(demo_night):
    def read(query: str) -> pd.DataFrame:
        with reading(demo_night.snapshot) as connection:
            return connection.execute(query).df()

    return read


@pytest.mark.parametrize("recipe", RECIPES)
def test_a_question_is_answered(recipe: str, answer) -> None:
    found = answer(recipe)
    assert len(found) > 0
    keys = re.findall(r"\w+", re.fullmatch(r"One row per ([\w, ]+)\.", head(recipe, "Grain"))[1])
    keys = [key for key in keys if key != "and"]
    assert not found.duplicated(keys).any(), f"{recipe} has several rows for one of {keys}"
    assert not found.drop(columns=keys).isna().all().any(), f"{recipe} has a column without any value"


@pytest.mark.parametrize("recipe", RECIPES)
def test_its_head_names_what_it_reads(recipe: str, demo_night) -> None:
    statement = re.sub(r"^--.*$", "", RECIPES[recipe], flags=re.M)
    with reading(demo_night.snapshot) as connection:
        tables = connection.execute(
            "SELECT CASE WHEN schema_name = 'main' THEN table_name ELSE schema_name || '.' || table_name END "
            "FROM duckdb_tables()"
        ).fetchall()
    known = {name for (name,) in tables}
    read = {name for name in re.findall(r"(?:FROM|JOIN)\s+([\w.]+)", statement) if name in known}
    assert set(head(recipe, "Inputs").split(", ")) == read
    assert set(defaults(recipe)) == set(re.findall(r"\$(\w+)", statement))


def test_the_readme_lists_every_question_with_its_file() -> None:
    listed = {
        stem: question
        for question, stem in re.findall(
            r"^\| (.+?) \| \[.*?\]\(fixtures/cookbook/(\w+)\.sql\) \|", chapter("Cookbook"), re.M
        )
    }
    assert listed == {recipe: head(recipe, "Purpose") for recipe in RECIPES}
    assert len(listed) == 25


def test_recipes_are_formatted_as_the_models_are() -> None:
    linted = subprocess.run(
        [sys.executable, "-m", "sqlfluff", "lint", str(COOKBOOK)],
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
    )
    assert linted.returncode == 0, linted.stdout


# Numbers of recipes that compute, against the same computed otherwise


def test_the_difference_of_two_trial_points_is_welchs(answer, table) -> None:
    found = answer("compare_two_trial_points").set_index(PROPERTY).loc[("tensile_index", "CD")]
    sheets = table(
        "SELECT trial_point, tensile_index_cd_nm_g AS index FROM sheet WHERE trial = 'refining series'"
    )
    first, second = (sheets.loc[sheets.trial_point == point, "index"] for point in ("20 kWh/t", "60 kWh/t"))
    interval = stats.ttest_ind(second, first, equal_var=False).confidence_interval(0.95)
    assert found.difference == pytest.approx(second.mean() - first.mean(), abs=5e-4)
    # whole degrees of freedom, rounded down, make it a little wider
    assert found.interval_low <= interval.low and found.interval_high >= interval.high
    assert found.interval_high - found.interval_low == pytest.approx(interval.high - interval.low, rel=0.1)


def test_the_number_of_sheets_is_the_least_that_suffices(answer) -> None:
    found = answer("sheets_needed", half_width_pct=5)
    for n, cv in zip(found.sheets_needed, found.cv_between_sheets_pct, strict=True):
        half_width = [stats.t.ppf(0.975, size - 1) * cv / np.sqrt(size) for size in (n - 1, n) if size > 1]
        assert half_width[-1] <= 5.01
        assert n == 2 or half_width[0] > 4.99


def test_the_slope_against_density_is_least_squares(answer, table) -> None:
    found = answer("strength_against_density").set_index("trial").loc["refining series"]
    sheets = table("FROM sheet WHERE trial = 'refining series'")
    line = stats.linregress(sheets.apparent_density_kg_m3, sheets.tensile_index_geometric_mean_nm_g)
    assert found.nm_g_per_100_kg_m3 == pytest.approx(100 * line.slope, abs=0.05)
    assert found.r_squared == pytest.approx(line.rvalue**2, abs=0.005)


def test_the_scatter_between_sheets_is_that_of_an_analysis_of_variance(answer, table) -> None:
    """ISO 5725-2 (from memory): s_L^2 = (s_d^2 - s_r^2) / n within a trial point; here the mean over trial points."""
    found = answer("scatter_within_and_between").set_index(PROPERTY).loc[("tensile_strength", "CD")]
    pieces = table("SELECT * FROM test_piece WHERE in_means AND direction = 'CD'")
    within, between = [], []
    for _, point in pieces.groupby(["trial", "trial_point"]):
        sheets = point.groupby("sheet_id")["tensile_strength_kn_m"]
        level = sheets.mean().mean()
        within.append((sheets.var() / sheets.mean() ** 2).mean())
        between.append((sheets.mean().var() - (sheets.var() / sheets.count()).mean()) / level**2)
    assert found.cv_within_sheets_pct == pytest.approx(100 * np.sqrt(np.mean(within)), abs=0.006)
    assert found.cv_between_sheets_pct == pytest.approx(100 * np.sqrt(np.mean(between)), abs=0.02)


def test_the_softwood_of_a_layered_sheet_is_that_of_its_layers(answer) -> None:
    shares = answer("effect_of_softwood_share").set_index("trial_point").softwood_pct
    assert shares["softwood 20 %"] == pytest.approx(20, abs=0.1)
    assert shares["softwood 80 %"] == pytest.approx(80, abs=0.1)
    assert 0 < shares["hardwood outside"] < 100


def test_parameters_bound_the_answer(answer) -> None:
    assert len(answer("stiffest_at_equal_density", low=0, high=2000)) == 12
    assert len(answer("stiffest_at_equal_density", low=0, high=1)) == 0
    assert set(answer("where_a_number_comes_from", sheet="RS-001").direction) == {"MD", "CD"}
    assert (
        len(answer("tests_missing", pieces=9))
        < len(answer("tests_missing", pieces=10))
        < len(answer("tests_missing", pieces=11))
    )
