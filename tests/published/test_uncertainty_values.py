"""Uncertainties against published table values and worked examples, the origin beside each."""

import pytest

from pipelines.warehouse.building import create_macros
from pipelines.warehouse.connection import working


@pytest.fixture(scope="module")
def evaluate():
    with working() as connection:
        create_macros(connection)
        yield lambda text: connection.execute(f"SELECT {text}").fetchall()[0][0]


@pytest.mark.parametrize(
    ("degrees_of_freedom", "quantile"),
    [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (9, 2.262), (10, 2.228), (11, 2.201), (15, 2.131),
     (20, 2.086), (30, 2.042), (60, 2.000), (120, 1.980), (10**9, 1.960)],
)  # fmt: skip
def test_students_t(evaluate, degrees_of_freedom, quantile) -> None:
    # From memory: the two-sided 95 % column of the t table as textbooks of statistics print it, to three decimals.
    assert evaluate(f"coverage_factor_95({degrees_of_freedom})") == pytest.approx(quantile, abs=5e-4)


def test_tensile_index_of_the_worked_example(evaluate) -> None:
    # Computed: 75 ± 0.5 N, 15 ± 0.05 mm and 80 ± 0.4 g/m2 (standard uncertainties) make 62.5 N.m/g, relative 0.0089753.
    relative = evaluate("combined_uncertainty([(0.5 / 75) ** 2, (0.05 / 15) ** 2, (0.4 / 80) ** 2])")
    assert relative == pytest.approx(0.0089753, abs=5e-8)


def test_standard_uncertainty_of_a_stated_limit(evaluate) -> None:
    # GUM, JCGM 100:2008, 4.3.7, from memory: limits of ± a and nothing else known give a/√3, 0.577 a.
    assert evaluate("standard_uncertainty(1.0)") == pytest.approx(0.57735, abs=5e-6)


def test_interval_of_a_small_set(evaluate) -> None:
    # Computed: 10, 12 and 14 have the mean 12 and s = 2; with the table's t of 4.303 (from memory) 12 ± 4.969.
    assert evaluate("interval_half_width(2.0, 3)") == pytest.approx(4.303 * 2 / 3**0.5, rel=2e-4)
    assert evaluate("interval_half_width(NULL, 1)") is None
