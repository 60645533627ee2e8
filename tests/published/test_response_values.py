"""Least squares against certified values, and lack of fit against a worked example."""

import numpy as np
import pytest

from pipelines.physics.parabola import fit_parabolas
from pipelines.physics.response import fit_responses

# NIST Statistical Reference Datasets, linear regression, "Pontius": deflection of a load cell against load. Data and
# certified values from memory; that the data give the certified values to nine digits proves the memory.
LOAD = np.tile(np.arange(150_000, 3_000_001, 150_000, dtype=float), 2)
DEFLECTION = np.array([
    .11019, .21956, .32949, .43899, .54803, .65694, .76562, .87487, .98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
    .11052, .22018, .32939, .43886, .54798, .65739, .76596, .87474, .98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
])  # fmt: skip
CERTIFIED = [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14]
CERTIFIED_ERRORS = [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16]
CERTIFIED_RESIDUAL_S = 0.205177424076185e-03


@pytest.fixture
def pontius():
    return fit_parabolas(LOAD, DEFLECTION, np.zeros(40, int))[0]


def test_the_coefficients_of_pontius(pontius) -> None:
    b0, b1, b2 = np.ravel(pontius.coefficients)
    (center,) = pontius.center
    about_zero = [b0 - b1 * center + b2 * center**2, b1 - 2 * b2 * center, b2]
    assert about_zero == pytest.approx(CERTIFIED, rel=1e-9)


def test_the_standard_errors_of_pontius(pontius) -> None:
    """Those of the coefficients about zero, from the uncorrelated ones by the rules for sums."""
    assert pontius.residual_s == pytest.approx(CERTIFIED_RESIDUAL_S, rel=1e-10)
    (center,), (tilt,), (mean_d2,) = pontius.center, pontius.tilt, pontius.mean_d2
    errors = np.ravel([pontius.residual_s / np.sqrt(40), pontius.slope_error, pontius.curvature_error])
    of_uncorrelated = np.array(
        [[1, -center, center**2 + tilt * center - mean_d2], [0, 1, -2 * center - tilt], [0, 0, 1]]
    )
    assert np.sqrt(of_uncorrelated**2 @ errors**2) == pytest.approx(CERTIFIED_ERRORS, rel=1e-10)


def test_lack_of_fit_and_minimum_of_a_worked_example() -> None:
    # Computed by hand, in logarithms: at u = -0.2, 0, 0, 0.2 (so that the centre is a ratio of 1) stand two sheets
    # each, v ± 0.01 with v = 0.7, 0.3, 0.3, 0.7. The parabola 0.3 + 10 u² meets every mean. Residual and pure error are
    # 8 * 0.01² = 0.0008, over 5 degrees of freedom 0.00016. Two trial points share the middle ratio, so that one degree
    # is left for lack of fit, with nothing in it: p = 1.
    u = np.repeat([-0.2, 0.0, 0.0, 0.2], 2)
    logarithm = np.repeat([0.7, 0.3, 0.3, 0.7], 2) + np.tile([-0.01, 0.01], 4)
    found = fit_responses(np.exp(u), np.exp(logarithm), np.repeat(list("ABCD"), 2), np.zeros(8, int), 1)
    assert found.center == pytest.approx(1.0)
    assert [*found.intercept, *found.linear, *found.quadratic] == pytest.approx([0.3, 0, 10], abs=1e-12)
    assert found.residual_s == pytest.approx(0.00016**0.5)
    assert found.lack_of_fit_p == pytest.approx(1.0)
    # At the minimum the parabola is 0.3 with the standard error of the mean of the four middle sheets, 0.00016 / 4;
    # t for 5 degrees of freedom is 2.571 (t table, from memory).
    assert found.minimum == pytest.approx(1.0)
    assert np.log(found.at_minimum_high) == pytest.approx(0.3 + 2.571 * (0.00016 / 4) ** 0.5, abs=5e-6)
    # Fieller: slope 0 ± sqrt(0.00016 / 0.16), curvature 10 ± sqrt(0.00016 / 0.0032); the ends are where
    # (2 u)² (10² - 2.571² * 0.05) = 2.571² * 0.001, u = ± 0.0040718.
    assert np.log(found.minimum_high) == pytest.approx(0.0040718, abs=1e-6)
    assert np.log(found.minimum_low) == pytest.approx(-0.0040718, abs=1e-6)


def test_the_lack_of_fit_of_points_beside_the_curve() -> None:
    # Computed: the example above with the two middle points moved apart by 0.02 each. Lack of fit is 4 * 0.02² = 0.0016
    # with 1 degree of freedom, pure error 0.0008 with 4: F = 8. With F = t², and t(4) = 2.776 at 5 % and 4.604 at 1 %
    # (t table, from memory), p lies between; exactly it is 0.0474.
    u = np.repeat([-0.2, 0.0, 0.0, 0.2], 2)
    logarithm = np.repeat([0.7, 0.28, 0.32, 0.7], 2) + np.tile([-0.01, 0.01], 4)
    found = fit_responses(np.exp(u), np.exp(logarithm), np.repeat(list("ABCD"), 2), np.zeros(8, int), 1)
    assert found.lack_of_fit_p == pytest.approx(0.0474, abs=5e-5)
