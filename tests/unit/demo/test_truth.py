"""The demo laboratory's truth obeys the physics it claims to."""

import numpy as np
import pytest

from pipelines.demo import truth
from pipelines.demo.truth import Furnish, Strength, trial_points

PIECES = [(point, strength) for point in trial_points() for strength in (point.md, point.cd)]


def test_there_are_four_trials_of_distinct_points():
    points = trial_points()
    assert len({point.trial for point in points}) == 4
    assert len({(point.trial, point.trial_point) for point in points}) == len(points)
    assert all(sum(layer.share for layer in point.layers) == pytest.approx(1) for point in points)


@pytest.mark.parametrize(("point", "strength"), PIECES)
def test_every_mean_lies_in_the_plausible_ranges(point, strength):
    # Plausible ranges: common practice, no source.
    assert 10 < strength.tensile_index_nm_g < 110
    assert 1 < strength.stretch_pct < 6
    assert 2 < strength.tensile_stiffness_index_knm_g < 10
    assert 0.1 < strength.tea_index_j_g < 3.5
    assert 250 < point.apparent_density_kg_m3 < 950
    assert 0.80 < point.retention < 1.02


@pytest.mark.parametrize(("point", "strength"), PIECES)
def test_every_mean_curve_is_concave(point, strength):
    index, stretch, stiffness = strength.as_array()
    assert stretch / 100 * stiffness * 1000 / index >= 1
    assert 0.5 < strength.tea_index_j_g / (index * stretch / 100) < 1


def test_orientation_is_least_near_a_ratio_of_one_and_grows_away_from_it_on_both_sides():
    ratios = np.array([0.70, 0.80, 0.90, 1.02, 1.15, 1.30, 1.50])
    strengths = [Furnish(60, 60, "A").strength(ratio) for ratio in ratios]
    md_cd = np.array([md.tensile_index_nm_g / cd.tensile_index_nm_g for md, cd in strengths])
    assert ratios[np.argmin(md_cd)] == pytest.approx(1.02)
    assert np.all(np.diff(md_cd[:4]) < 0)
    assert np.all(np.diff(md_cd[3:]) > 0)
    assert md_cd.min() > 1


def test_refining_and_softwood_make_a_sheet_stronger():
    def geometric_mean(furnish):
        md, cd = furnish.strength(1.15)
        return np.sqrt(md.tensile_index_nm_g * cd.tensile_index_nm_g)

    assert geometric_mean(Furnish(100, 120, "A")) > geometric_mean(Furnish(100, 20, "A"))
    assert geometric_mean(Furnish(100, 60, "A")) > geometric_mean(Furnish(0, 60, "A"))


@pytest.mark.parametrize("k_times_elongation", [0.5, 2.0, 4.0])
def test_curve_shape_is_the_area_under_the_curve(k_times_elongation):
    # Computed: the area under tanh from 0 to x by Gauss-Legendre, over the enclosing rectangle.
    node, weight = np.polynomial.legendre.leggauss(40)
    x = k_times_elongation
    area = x / 2 * np.sum(weight * np.tanh(x / 2 * (node + 1)))
    strength, stretch = np.array([50.0]), np.array([2.5])
    stiffness = x / np.tanh(x) * strength / (10 * stretch)
    assert truth.curve_shape(strength, stretch, stiffness) == pytest.approx(area / (x * np.tanh(x)))


def test_a_curve_with_a_known_answer():
    # Computed: F = 100 tanh(0.8 x) N to 2.5 mm at 15 x 100 mm and 80 g/m2 has 80.33563 N·m/g, 2.5 %,
    # 6.66667 kN·m/g and 1.380211 J/g.
    energy = truth.tea_index_j_g(np.array([80.33563]), np.array([2.5]), np.array([6.666667]))
    assert energy == pytest.approx(1.380211, rel=1e-5)


def test_a_curve_below_its_own_slope_is_refused():
    with pytest.raises(ValueError, match="must be above 1 for a concave curve"):
        truth.curve_shape(np.array([60.0]), np.array([2.0]), np.array([2.9]))


def test_mean_tea_index_agrees_with_drawing_many_pieces():
    strength = Strength(60.0, 2.5, 6.5)
    rng = np.random.default_rng(7)
    between = np.square(list(truth.BETWEEN_SHEETS.values()))
    covariance = truth.within_sheet_log_covariance() + np.diag(between)
    deviates = rng.multivariate_normal(np.zeros(3), covariance, 200_000)
    drawn = truth.tea_index_j_g(*(strength.as_array() * truth.unit_mean(deviates, np.diag(covariance))).T)
    standard_error = drawn.std() / np.sqrt(drawn.size)
    assert strength.tea_index_j_g == pytest.approx(drawn.mean(), abs=4 * standard_error)
    at_the_means = truth.tea_index_j_g(*strength.as_array().reshape(3, 1))[0]
    assert abs(at_the_means - strength.tea_index_j_g) > 4 * standard_error, "scatter must matter to be tested"
