"""Probabilities of t and F against a library of statistics, over all that a laboratory can have."""

import numpy as np
import pytest
from scipy import special

from pipelines.physics.distributions import f_upper_p, incomplete_beta, t_quantile, t_two_sided_p

DEGREES = np.r_[1:100, 1_000, 100_000]


@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.99])
def test_quantiles_of_t(confidence):
    expected = special.stdtrit(DEGREES, (1 + confidence) / 2)
    np.testing.assert_allclose(t_quantile(confidence, DEGREES), expected, rtol=1e-9)


def test_quantiles_are_in_the_order_of_the_degrees_of_freedom():
    assert t_quantile(0.95, [5, 1, 5]) == pytest.approx([2.570582, 12.706205, 2.570582], abs=1e-6)
    assert t_quantile(0.95, []).tolist() == []


def test_probabilities_of_t():
    df, t = np.meshgrid(DEGREES, np.r_[0, 0.01:8:0.1, 20])
    expected = 2 * special.stdtr(df, -np.abs(t))
    np.testing.assert_allclose(t_two_sided_p(t, df), expected, rtol=1e-9)
    np.testing.assert_allclose(t_two_sided_p(-t, df), expected, rtol=1e-9)


def test_probabilities_of_f():
    numerator, denominator, f = np.meshgrid([1, 2, 3, 10, 40], DEGREES, np.r_[0, 0.01:8:0.2, 50, 1e4])
    expected = special.fdtrc(numerator, denominator, f)
    found = f_upper_p(f, numerator, denominator)
    np.testing.assert_allclose(found, expected, rtol=1e-8, atol=1e-200)


def test_the_ends_of_the_incomplete_beta_function():
    assert incomplete_beta([0.5, 30], [2.5, 400], 0).tolist() == [0, 0]
    assert incomplete_beta([0.5, 30], [2.5, 400], 1).tolist() == [1, 1]
