"""Curve reduction on a curve with known answers: F = 100 tanh(0.8 x) N up to x = 2.5 mm.

Its answers follow from calculus (computed): maximum force 100 tanh 2, energy (100/0.8) ln cosh 2 N mm, maximum
slope 80 N/mm at the start. The record ends at the maximum, and so has no break.
"""

import math
from dataclasses import fields

import numpy as np
import pytest

from pipelines.physics.curves import CurveResults, CurveSettings, reduce_curves

MAX_FORCE_N, ENERGY_N_MM, MAX_SLOPE_N_MM, ELONGATION_MM = 96.4027580, 165.6253434, 80.0, 2.5
POINTS = [51, 101, 251, 1001, 4001]


def tanh_curves(points: int, noise_n: float = 0.0, curves: int = 1, seed: int = 1) -> CurveResults:
    return reduce_curves(*tanh_points(points, noise_n, curves, seed))


def tanh_points(points: int, noise_n: float, curves: int, seed: int):
    x = np.tile(np.linspace(0, ELONGATION_MM, points), curves)
    noise = np.random.default_rng(seed).normal(0, noise_n, x.size) if noise_n else 0.0
    return x, 100 * np.tanh(0.8 * x) + noise, np.arange(curves + 1) * points


def test_the_known_answers_follow_from_the_formula() -> None:
    assert 100 * math.tanh(2) == pytest.approx(MAX_FORCE_N, abs=5e-8)
    assert 125 * math.log(math.cosh(2)) == pytest.approx(ENERGY_N_MM, abs=5e-8)


@pytest.mark.parametrize("points", POINTS)
def test_a_clean_curve(points) -> None:
    result = tanh_curves(points)
    spacing_mm = ELONGATION_MM / (points - 1)
    assert result.usable.all() and result.early_stop.all()
    assert not (result.saturated | result.clamp_slip).any()
    assert np.isnan(result.elongation_at_break_mm).all()
    assert result.max_force_n == pytest.approx(MAX_FORCE_N, abs=1e-7)
    assert result.elongation_at_max_mm == pytest.approx(ELONGATION_MM, abs=5e-4)
    # the trapezoids' error, spacing^2/12 times the fall of the slope from start to end
    trapezoid = spacing_mm**2 / 12 * (80 - 80 / math.cosh(2) ** 2)
    assert 1000 * result.energy_to_max_j == pytest.approx(ENERGY_N_MM - trapezoid, rel=1e-6)
    # the curvature's part in the bias of a window of 0.2 mm is 0.8 %
    assert result.max_slope_n_mm == pytest.approx(MAX_SLOPE_N_MM * 0.992, rel=1e-3)
    assert result.max_slope_at_mm == pytest.approx(0.1, abs=1e-3)
    assert result.slack_removed_mm == pytest.approx(0.0, abs=5e-4)
    assert result.force_zero_n == 0.0


def test_the_trapezoids_error_at_101_points() -> None:
    # Computed: relative error -2.3e-5.
    energy_n_mm = 1000 * tanh_curves(101).energy_to_max_j[0]
    assert energy_n_mm / ENERGY_N_MM - 1 == pytest.approx(-2.3e-5, abs=0.05e-5)


def test_the_energy_converges_with_the_square_of_the_spacing() -> None:
    # slack stays in, for the error of its removal does not fall with the spacing
    settings = CurveSettings(slack="none")
    errors = [
        1000 * reduce_curves(*tanh_points(points, 0.0, 1, 1), settings).energy_to_max_j[0] - ENERGY_N_MM
        for points in (101, 201, 401, 801)
    ]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx(2.0, abs=0.01)


def test_the_slope_converges_with_the_square_of_the_window() -> None:
    # a line fitted to a - b x^3 over 0 to w has the slope a - 0.9 b w^2
    errors = [
        MAX_SLOPE_N_MM
        - reduce_curves(
            *tanh_points(40_001, 0.0, 1, 1), CurveSettings(slope_window_mm=window_mm)
        ).max_slope_n_mm[0]
        for window_mm in (0.2, 0.1, 0.05)
    ]
    assert errors[-1] == pytest.approx(0.9 * 100 * 0.8**3 / 3 * 0.05**2, rel=0.02)
    assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("points", [251, 1001])
@pytest.mark.parametrize("noise_n", [0.02, 0.1, 0.3])
def test_noise_hardly_moves_the_means(points, noise_n) -> None:
    result = tanh_curves(points, noise_n, curves=300)
    assert result.usable.all()
    assert not (result.saturated | result.clamp_slip).any()
    # the largest of many noisy points stands above the curve: by no more than some 3 standard deviations
    excess_n = result.max_force_n.mean() - MAX_FORCE_N
    assert -0.2 * noise_n < excess_n < 3 * noise_n
    # and before its end, by less the steeper the end; the energy up to it falls short by the force times that
    short_mm = ELONGATION_MM - result.elongation_at_max_mm.mean()
    assert -1e-3 < short_mm < 0.1
    assert 1000 * result.energy_to_max_j.mean() == pytest.approx(
        ENERGY_N_MM - MAX_FORCE_N * short_mm, abs=0.15
    )
    assert result.max_slope_n_mm.mean() == pytest.approx(MAX_SLOPE_N_MM, rel=0.012)


@pytest.mark.parametrize(
    "window_mm, noise_n, bias_pct, error_pct",
    [
        (0.05, 0.1, +3.1, 3.2),
        (0.05, 0.5, +19.1, 19.6),
        (0.1, 0.1, +0.4, 0.6),
        (0.1, 0.5, +4.8, 5.2),
        (0.2, 0.1, -0.7, 0.8),
        (0.2, 0.5, 0.0, 0.9),
        (0.3, 0.1, -1.7, 1.7),
        (0.5, 0.1, -4.6, 4.6),
    ],
)
def test_the_stated_bias_of_the_maximum_slope(window_mm, noise_n, bias_pct, error_pct) -> None:
    # Computed: the table in the settings' docstring. Other noise than was drawn for it, hence the tolerance.
    points = tanh_points(1001, noise_n, 400, seed=2)
    slope = reduce_curves(*points, CurveSettings(slope_window_mm=window_mm)).max_slope_n_mm
    relative_pct = 100 * (slope / MAX_SLOPE_N_MM - 1)
    tolerance_pct = 0.06 + 4 * relative_pct.std() / np.sqrt(slope.size)
    assert relative_pct.mean() == pytest.approx(bias_pct, abs=tolerance_pct)
    assert np.sqrt((relative_pct**2).mean()) == pytest.approx(error_pct, abs=tolerance_pct)
    row = CurveSettings.__doc__.split(f"{noise_n:g} N  ")[1].splitlines()[0]
    assert f"{bias_pct:+.1f} ({error_pct:4.1f})" in row


def test_the_properties_of_a_test_piece() -> None:
    # Computed from the definitions (ISO 1924-3, clause 3) for a piece of 15 x 100 mm and 80 g/m2.
    result = tanh_curves(4001)
    strength_kn_m = result.max_force_n[0] / 15
    tea_j_m2 = 1e6 * result.energy_to_max_j[0] / (15 * 100)
    stiffness_kn_m = result.max_slope_n_mm[0] * 100 / 15
    assert strength_kn_m == pytest.approx(6.426851, abs=1e-6)
    assert 1000 * strength_kn_m / 80 == pytest.approx(80.33563, abs=1e-5)
    assert tea_j_m2 == pytest.approx(110.41690, abs=1e-4)
    assert stiffness_kn_m == pytest.approx(533.333, rel=0.009)
    stretch = result.elongation_at_max_mm[0] / 100
    assert 0.5 <= tea_j_m2 / (1000 * strength_kn_m * stretch) < 1
    assert stretch * stiffness_kn_m / strength_kn_m >= 1


def test_every_result_has_one_value_per_curve() -> None:
    result = tanh_curves(101, curves=7)
    assert {getattr(result, field.name).shape for field in fields(result)} == {(7,)}
