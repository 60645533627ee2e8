"""The trend of readings: against another program, and cases without a trend."""

import numpy as np
import pytest
from scipy import stats

from pipelines.physics.trend import Trend, trend


@pytest.mark.parametrize("n", [3, 5, 10, 40])
def test_slope_and_p_are_those_of_another_program(n):
    random = np.random.default_rng(n)
    x, y = random.permutation(n) + 1.0, random.normal(60, 2, n)
    expected = stats.linregress(x, y)
    found = trend(x.tolist(), y.tolist())
    assert found.slope == pytest.approx(expected.slope, rel=1e-12)
    assert found.p == pytest.approx(expected.pvalue, rel=1e-9)


def test_a_line_without_scatter_is_certain():
    assert trend([1, 2, 3, 4], [10, 12, 14, 16]) == Trend(2.0, 0.0)
    assert trend([1, 2, 3], [5, 5, 5]) == Trend(0.0, 1.0)


@pytest.mark.parametrize(("x", "y"), [([], []), ([1, 2], [3, 4]), ([2, 2, 2, 2], [1, 2, 3, 4])])
def test_too_few_values_or_one_x_have_no_trend(x, y):
    assert trend(x, y) is None


def test_chance_alone_gives_a_p_below_one_in_a_hundred_about_once_in_a_hundred():
    random = np.random.default_rng(1)
    x = list(range(1, 11))
    below = sum(trend(x, random.normal(0, 1, 10).tolist()).p < 0.01 for _ in range(4000))
    assert 40 * 0.6 < below < 40 * 1.5
