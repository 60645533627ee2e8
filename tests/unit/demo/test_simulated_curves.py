"""The simulated curves agree with the results of their pieces, and spoilt ones are spoilt as they say."""

import numpy as np
import pandas as pd
import pytest

from pipelines.demo import curve_faults, curves
from pipelines.demo.simulator import simulate

PIECE = ["sheet_id", "direction", "specimen_no"]


@pytest.fixture(scope="module")
def records():
    return simulate(60, seed=3).records


@pytest.fixture(scope="module")
def pieces(records):
    """Each curve with the results of its piece."""
    points = records["tensile_curve"]
    elongation_mm = points["elongation_mm"].fillna(points["strain_pct"] * points["span_mm"] / 100)
    points = points.assign(elongation_mm=elongation_mm)
    results = records["tensile"].set_index(PIECE)
    return [(curve, results.loc[piece]) for piece, curve in points.groupby(PIECE, sort=False)]


@pytest.fixture
def clean(records):
    return curves.points(records["tensile"].iloc[:1], np.random.default_rng(0))


def test_of_ten_sheets_three_have_curves_of_twenty_pieces_in_all(records):
    points = records["tensile_curve"]
    assert points["sheet_id"].nunique() == 60 // 10 * 3
    assert len(points.drop_duplicates(PIECE)) == 60 // 10 * 20


def test_curves_have_a_moderate_number_of_points(pieces):
    assert all(120 <= len(curve) <= 320 for curve, _ in pieces)


def test_strength_and_energy_of_a_curve_are_those_of_the_results(pieces):
    for curve, result in pieces:
        top = curve["force_n"].to_numpy().argmax()
        assert curve["force_n"].iloc[top] == pytest.approx(result["max_force_n"], rel=0.003)
        upto = curve.iloc[: top + 1]
        energy = np.trapezoid(upto["force_n"], upto["elongation_mm"]) / 1000
        assert energy == pytest.approx(result["energy_j"], rel=0.04)  # noise moves the top along a flat end


def test_stretch_without_slack_is_that_of_the_results(pieces):
    for curve, result in pieces:
        break_at = curve["elongation_mm"].iloc[-1 - len(curves.AFTER_BREAK)]
        slack = break_at - result["elongation_mm"]
        assert curves.MINIMUM_SLACK_MM - 1e-9 <= slack < curves.MINIMUM_SLACK_MM + curves.STEP_MM
        taut = curve[curve["elongation_mm"] < slack]
        assert taut["force_n"].abs().max() < 6 * curves.FORCE_NOISE_N


def test_stiffness_is_that_of_the_results(pieces):
    for curve, result in pieces:
        rising = curve.iloc[: curve["force_n"].to_numpy().argmax()]
        steep = rising[rising["force_n"].between(0.02 * result["max_force_n"], 0.15 * result["max_force_n"])]
        slope = np.polyfit(steep["elongation_mm"], steep["force_n"], 1)[0]
        stated = result["max_slope_n_mm"]
        if pd.isna(stated):
            stated = result["tensile_stiffness_kn_m"] * result["width_mm"] / result["span_mm"]
        assert slope == pytest.approx(stated, rel=0.05)


def test_the_force_is_lost_after_the_break(pieces):
    for curve, result in pieces:
        assert abs(curve["force_n"].iloc[-1]) < 0.01 * result["max_force_n"]


def test_a_clean_curve_only_rises_up_to_its_break_and_its_elongation_always(clean):
    upto = clean["force_n"].iloc[: clean["force_n"].argmax()]
    assert (upto.diff().dropna() > -8 * curves.FORCE_NOISE_N).all()
    assert np.allclose(clean["elongation_mm"].diff().dropna(), curves.STEP_MM)


def test_a_slip_drops_the_force_three_times_on_the_way_up(clean):
    slipped = curve_faults.slipped(clean)
    upto = slipped["force_n"].iloc[: slipped["force_n"].argmax()]
    assert (upto.diff() < -0.02 * slipped["force_n"].max()).sum() == 3
    assert np.allclose(slipped["elongation_mm"].diff().dropna(), curves.STEP_MM)


def test_an_early_stop_ends_at_its_maximum(clean):
    stopped = curve_faults.stopped_early(clean)
    assert stopped["force_n"].iloc[-1] > stopped["force_n"].max() - 6 * curves.FORCE_NOISE_N
    assert stopped["force_n"].max() < clean["force_n"].max()


def test_a_saturated_load_cell_shows_its_maximum_many_times(clean):
    saturated = curve_faults.saturated(clean)
    assert (saturated["force_n"] == saturated["force_n"].max()).sum() > 10


def test_elongation_steps_back_once(clean):
    assert (curve_faults.stepped_back(clean)["elongation_mm"].diff() < 0).sum() == 1
