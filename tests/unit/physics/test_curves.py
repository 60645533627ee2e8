"""Curve reduction: slack, faults of a record one by one, and what must not change the results.

Curves are our own: a rise like a tanh, with a break, noise, slack and faults put in as a test needs them.
"""

import tracemalloc
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.physics.curves import BoolArray, CurveResults, CurveSettings, reduce_curves

FLAGS = [field.name for field in fields(CurveResults) if field.type is BoolArray]
NUMBERS = [field.name for field in fields(CurveResults) if field.name not in [*FLAGS, "n_points"]]


def piece(points=800, strength_n=60.0, stretch_mm=2.4, slope_n_mm=70.0, slack_mm=0.0, noise_n=0.0, seed=0):
    """Elongation and force of a piece that stretches, breaks, and is recorded a little further."""
    end_mm = slack_mm + stretch_mm * 1.03
    x = np.linspace(0, end_mm, points)
    taut = np.clip(x - slack_mm, 0, None)
    ceiling_n = strength_n / np.tanh(slope_n_mm * stretch_mm / (1.1 * strength_n))
    f = np.where(taut <= stretch_mm, ceiling_n * np.tanh(slope_n_mm * taut / ceiling_n), 1.0)
    return x, f + np.random.default_rng(seed).normal(0, noise_n, points) if noise_n else f


def reduce(*curves, **changes) -> CurveResults:
    x, f = (np.concatenate(parts) for parts in zip(*curves, strict=True))
    offsets = np.concatenate([[0], np.cumsum([curve[0].size for curve in curves])])
    return reduce_curves(x, f, offsets, CurveSettings(**changes))


def raised(result: CurveResults) -> list[str]:
    return [name for name in FLAGS if getattr(result, name).any()]


# --- what a whole record shows


def test_a_clean_piece_raises_no_flag() -> None:
    result = reduce(piece())
    assert raised(result) == []
    assert result.elongation_at_break_mm == pytest.approx(2.4, abs=0.01)
    assert result.elongation_at_max_mm == pytest.approx(2.4, abs=0.01)
    assert result.n_points == 800


def test_a_break_after_a_decline_lies_beyond_the_maximum() -> None:
    x = np.linspace(0, 3, 601)
    f = np.where(x < 2, 40 * np.sin(np.pi * x / 4), 40 - 3 * (x - 2))
    f[x > 2.7] = 2.0
    result = reduce((x, f))
    assert raised(result) == []
    assert result.elongation_at_max_mm == pytest.approx(2.0, abs=0.01)
    assert result.elongation_at_break_mm == pytest.approx(2.7, abs=0.01)


def test_the_bend_of_two_straight_lines_is_their_corner() -> None:
    x = np.linspace(0, 2, 1001)
    f = np.minimum(80 * x, 40 + 10 * (x - 0.5))
    result = reduce((x + 0.3, f + 2.0), (x, 40 * x))
    assert result.bend_elongation_mm[0] + result.slack_removed_mm[0] == pytest.approx(0.8, abs=1e-6)
    assert result.bend_force_n[0] + result.force_zero_n[0] == pytest.approx(42, abs=1e-6)
    assert np.isnan(result.bend_elongation_mm[1]) and np.isnan(result.bend_force_n[1])


def test_the_maximum_slope_may_lie_past_a_soft_start() -> None:
    x = np.linspace(0, 2, 1001)
    f = np.where(x < 0.5, 20 * x**2 / 0.5, 10 + 40 * (x - 0.5))
    result = reduce((x, f))
    assert result.max_slope_n_mm == pytest.approx(40, rel=0.01)
    assert result.slack_removed_mm == pytest.approx(0.25, abs=0.01)


def test_a_corner_within_the_last_part_is_no_bend() -> None:
    x = np.linspace(0, 3.4, 1701)
    f = np.where(x < 2.4, 5 * x, np.minimum(12 + 80 * (x - 2.4), 36 + (x - 2.7)))
    result = reduce((x, f), slack="none")
    assert result.max_slope_n_mm == pytest.approx(80)
    assert np.isnan(result.bend_elongation_mm)


def test_the_window_grows_to_five_where_points_are_far_apart() -> None:
    x, f = piece(points=26, noise_n=0.3)
    slopes = [np.polyfit(x[i : i + 5], f[i : i + 5], 1)[0] for i in range(f.argmax() - 3)]
    assert reduce((x, f)).max_slope_n_mm == pytest.approx(max(slopes), rel=1e-9)


def test_a_pause_of_the_clamps_gives_no_slope_of_its_own() -> None:
    plain = piece(points=13)
    x, f = (np.repeat(part, np.where(np.arange(13) == 7, 9, 1)) for part in plain)
    for seed in range(50):
        creeping, relaxed = x.copy(), f.copy()
        creeping[8:16] += np.linspace(0, 0.002, 8)
        relaxed[8:16] -= np.random.default_rng(seed).uniform(0, 0.6, 8)
        paused = reduce((creeping, relaxed))
        assert raised(paused) == [], seed
        assert paused.max_slope_n_mm == pytest.approx(reduce(plain).max_slope_n_mm, rel=1e-9), seed
        assert paused.energy_to_max_j == pytest.approx(reduce(plain).energy_to_max_j, rel=2e-3), seed


# --- slack and force zero


@pytest.mark.parametrize("slack", ["tangent", "pre_force"])
@pytest.mark.parametrize("noise_n", [0.0, 0.02])
def test_slack_is_removed(slack, noise_n) -> None:
    taut, slack_piece = (piece(slack_mm=mm, points=n, noise_n=noise_n) for mm, n in ((0, 800), (0.6, 1000)))
    result = reduce(taut, slack_piece, slack=slack)
    assert raised(result) == []
    assert result.slack_removed_mm[1] - result.slack_removed_mm[0] == pytest.approx(0.6, abs=0.01)
    assert result.elongation_at_max_mm[1] == pytest.approx(result.elongation_at_max_mm[0], abs=0.02)
    assert result.energy_to_max_j[1] == pytest.approx(result.energy_to_max_j[0], rel=0.01)
    assert result.max_slope_n_mm[1] == pytest.approx(result.max_slope_n_mm[0], rel=0.01)


def test_slack_that_is_not_to_be_removed_stays() -> None:
    result = reduce(piece(slack_mm=0.6, points=1000), slack="none")
    assert result.slack_removed_mm == 0
    assert result.elongation_at_max_mm == pytest.approx(3.0, abs=0.01)


def test_a_record_that_begins_under_load_is_carried_back_to_zero_force() -> None:
    whole = piece(points=2001)
    cut = tuple(part[40:] for part in whole)
    assert cut[1][0] > 3
    result = reduce(whole, cut)
    assert result.elongation_at_max_mm[1] == pytest.approx(result.elongation_at_max_mm[0], abs=0.005)
    assert result.energy_to_max_j[1] == pytest.approx(result.energy_to_max_j[0], rel=1e-3)


def test_the_tangent_adds_the_area_before_the_first_point() -> None:
    x = np.linspace(0.2, 2, 181)
    result = reduce((x, 50 * x))
    assert result.slack_removed_mm == pytest.approx(0, abs=1e-9)
    assert result.energy_to_max_j == pytest.approx(50 * 2**2 / 2 / 1000, rel=1e-9)


def test_elongation_counts_from_where_the_pre_force_is_reached() -> None:
    x = np.linspace(0, 2, 201)
    result = reduce((x, 50 * x), slack="pre_force", pre_force_n=1.23)
    assert result.slack_removed_mm == pytest.approx(1.23 / 50)
    assert result.energy_to_max_j == pytest.approx((100**2 - 1.23**2) / (2 * 50) / 1000)


def test_a_pre_force_that_is_never_reached_means_no_rise() -> None:
    assert raised(reduce(piece(), slack="pre_force", pre_force_n=100.0))[:1] == ["no_rise"]


@pytest.mark.parametrize("offset_n", [-1.5, 0.8])
def test_a_flat_start_is_the_force_zero(offset_n) -> None:
    x, f = piece(slack_mm=0.6, points=1000, noise_n=0.05)
    shifted, plain = reduce((x, f + offset_n)), reduce((x, f))
    assert shifted.force_zero_n - plain.force_zero_n == pytest.approx(offset_n, abs=1e-9)
    for name in ("max_force_n", "energy_to_max_j", "elongation_at_max_mm", "bend_force_n"):
        assert getattr(shifted, name) == pytest.approx(getattr(plain, name), rel=1e-9), name
    kept = reduce((x, f + offset_n), remove_force_zero=False)
    assert kept.force_zero_n == 0
    assert kept.max_force_n - plain.max_force_n == pytest.approx(offset_n, abs=0.05)


def test_a_record_that_rises_at_once_has_no_flat_start_to_take_a_zero_from() -> None:
    x, f = piece()
    assert reduce((x, f + 0.8)).force_zero_n == 0


def test_a_soft_start_is_no_force_zero() -> None:
    x = np.linspace(0, 2, 1001)
    assert reduce((x, np.maximum(4 * x, 2 + 40 * (x - 0.5)))).force_zero_n == 0


# --- faults


def test_a_clamp_slip_is_found() -> None:
    x, f = piece(points=1000, noise_n=0.05)
    for share in (0.2, 0.5, 0.8):
        slipped = f.copy()
        start = int(share * 950)
        slipped[start : start + 40] -= np.linspace(5, 0, 40)
        assert raised(reduce((x, slipped))) == ["clamp_slip"], share


def test_a_jagged_record_with_many_slips_is_found() -> None:
    x, f = piece(points=1000)
    saw = 4 * ((np.arange(1000) % 60) / 60)
    assert "clamp_slip" in raised(reduce((x, f - saw)))


def test_a_record_that_stops_at_its_maximum_is_found() -> None:
    x, f = piece()
    assert raised(reduce((x[:600], f[:600]))) == ["early_stop"]


def test_a_force_cut_off_at_the_cell_s_limit_is_found() -> None:
    for noise_n in (0.0, 0.05):
        x, f = piece(noise_n=noise_n)
        result = reduce((x, np.minimum(f, 50.0)))
        assert raised(result) == ["saturated"], noise_n
        assert result.max_force_n == 50


def test_a_flat_top_read_with_a_coarse_resolution_is_not_cut_off() -> None:
    x, f = piece(slope_n_mm=150, noise_n=0.0)
    coarse = np.round(f, 1)
    assert (coarse == coarse.max()).sum() >= 5
    assert raised(reduce((x, coarse))) == []


def test_a_noisy_flat_top_read_with_a_coarse_resolution_is_not_cut_off() -> None:
    for seed in range(50):
        x, f = piece(points=4000, slope_n_mm=100, noise_n=0.1, seed=seed)
        assert raised(reduce((x, np.round(f * 5) / 5))) == [], seed


def test_a_short_record_beside_a_long_one_is_not_taken_as_cut_off() -> None:
    x, f = piece(points=60)
    held = f[:40].copy()
    held[-1] = held[-2]
    assert raised(reduce((x[:40], held), piece(points=63))) == ["early_stop"]


def test_elongation_that_runs_back_is_found() -> None:
    x, f = piece()
    back = x.copy()
    back[300:] -= 0.1
    result = reduce((back, f), piece())
    assert result.non_monotone_elongation.tolist() == [True, False]
    assert raised(reduce((x[::-1], f))) == ["non_monotone_elongation"]


def test_the_noise_of_an_elongation_gauge_is_not_running_back() -> None:
    x, f = piece()
    jitter = np.random.default_rng(3).normal(0, 0.001, x.size)
    noisy, clean = reduce((x + jitter, f)), reduce((x, f))
    assert raised(noisy) == []
    assert noisy.energy_to_max_j == pytest.approx(clean.energy_to_max_j, rel=2e-3)
    assert noisy.max_slope_n_mm == pytest.approx(clean.max_slope_n_mm, rel=0.01)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("column", [0, 1])
def test_a_point_that_is_no_number_makes_its_curve_unusable_and_no_other(value, column) -> None:
    bad = tuple(part.copy() for part in piece())
    bad[column][400] = value
    result = reduce(piece(), bad, piece())
    assert result.non_finite.tolist() == [False, True, False]
    assert raised(result) == ["non_finite"]


@pytest.mark.parametrize(
    "force_n", [np.zeros(500), np.full(500, 3.0), -np.linspace(1, 20, 500), np.linspace(-20, -1, 500)]
)
def test_a_record_without_a_rise_is_found(force_n) -> None:
    assert raised(reduce((np.linspace(0, 2, 500), force_n))) == ["no_rise"]


def test_noise_alone_is_no_rise() -> None:
    rng = np.random.default_rng(4)
    curves = [(np.linspace(0, 2, 500), rng.normal(0, 0.1, 500)) for _ in range(500)]
    result = reduce(*curves)
    assert not result.usable.any()
    assert result.no_rise.mean() > 0.9  # the others have their maximum among the first points


def test_too_few_points_are_found() -> None:
    x, f = piece()
    few = (x[:9], f[:9])
    none = (x[:0], f[:0])
    late = (np.linspace(0, 2, 500), np.concatenate([np.linspace(0, 50, 6), np.zeros(494)]))
    brittle = (x * 0.05, f)  # breaks within less elongation than a slope window
    result = reduce(few, none, late, brittle, piece())
    assert result.too_few_points.tolist() == [True, True, True, True, False]
    assert raised(result) == ["too_few_points"]
    assert result.n_points.tolist() == [9, 0, 500, 800, 800]


def test_all_numbers_are_nan_where_a_curve_is_unusable_and_none_of_the_main_ones_elsewhere() -> None:
    x, f = piece()
    result = reduce((x[:5], f[:5]), (x, np.zeros_like(f)), (x[::-1], f), (x, f * np.nan), (x, f))
    assert result.usable.tolist() == [False, False, False, False, True]
    for name in NUMBERS:
        assert np.isnan(getattr(result, name)[:4]).all(), name
        assert np.isfinite(getattr(result, name)[4]), name


def test_clean_noisy_curves_raise_next_to_no_flag() -> None:
    rng = np.random.default_rng(5)
    curves = [
        piece(
            points=int(rng.integers(150, 1500)),
            strength_n=rng.uniform(15, 120),
            stretch_mm=rng.uniform(1.5, 6),
            slope_n_mm=rng.uniform(20, 110),
            slack_mm=rng.uniform(0, 0.5),
            noise_n=rng.uniform(0, 0.15),
            seed=int(seed),
        )
        for seed in rng.integers(0, 2**32, 4000)
    ]
    result = reduce(*curves)
    assert {name: int(getattr(result, name).sum()) for name in FLAGS} == dict.fromkeys(FLAGS, 0)


# --- what must not change the results


def plausible_piece(strength_n, stretch_mm, roundness, **other):
    """A piece whose slope at the start is some times that of the straight way to its break."""
    return piece(
        strength_n=strength_n, stretch_mm=stretch_mm, slope_n_mm=roundness * strength_n / stretch_mm, **other
    )


shapes = st.builds(
    plausible_piece,
    strength_n=st.floats(10, 150),
    stretch_mm=st.floats(1.5, 6),
    roundness=st.floats(1.2, 4),
    points=st.integers(150, 1200),
    slack_mm=st.floats(0, 1),
    noise_n=st.floats(0, 0.2),
    seed=st.integers(0, 1000),
)
few_examples = settings(max_examples=40, deadline=None)


def assert_alike(got: CurveResults, expected: CurveResults, rel: float, factors=None, shifts=None) -> None:
    for field in fields(CurveResults):
        want = getattr(expected, field.name)
        if field.name not in FLAGS:
            want = want * (factors or {}).get(field.name, 1) + (shifts or {}).get(field.name, 0)
        assert getattr(got, field.name) == pytest.approx(want, rel=rel, abs=1e-9, nan_ok=True), field.name


@few_examples
@given(shapes, st.floats(0.01, 100))
def test_force_in_another_unit_scales_what_is_made_of_force(curve, factor) -> None:
    x, f = curve
    of_force = ("max_force_n", "energy_to_max_j", "max_slope_n_mm", "force_zero_n", "bend_force_n")
    assert_alike(reduce((x, factor * f)), reduce((x, f)), 1e-6, factors=dict.fromkeys(of_force, factor))


@few_examples
@given(shapes, st.floats(-5, 5), st.sampled_from(["tangent", "pre_force"]))
def test_another_elongation_zero_changes_the_slack_alone(curve, shift_mm, slack) -> None:
    x, f = curve
    shifted, plain = reduce((x + shift_mm, f), slack=slack), reduce((x, f), slack=slack)
    assert_alike(shifted, plain, 1e-6, shifts={"slack_removed_mm": shift_mm})


@few_examples
@given(st.lists(shapes, min_size=2, max_size=6), st.randoms(use_true_random=False))
def test_another_order_of_the_curves_reorders_the_results(curves, random) -> None:
    order = list(range(len(curves)))
    random.shuffle(order)
    result, shuffled = reduce(*curves), reduce(*(curves[i] for i in order))
    picked = CurveResults(**{field.name: getattr(result, field.name)[order] for field in fields(result)})
    assert_alike(shuffled, picked, 1e-9)


@few_examples
@given(st.floats(0.7, 2), st.integers(0, 1000))
def test_points_standing_unevenly_give_the_same_results(power, seed) -> None:
    x, f = piece(points=4001)
    rng = np.random.default_rng(seed)
    uneven = np.sort(np.concatenate([[0, 2.399], 2.399 * rng.uniform(0, 1, 600) ** power, [2.41, 2.45]]))
    taken = (uneven, np.interp(uneven, x, f))
    full, part = reduce((x, f)), reduce(taken)
    assert raised(part) == []
    assert part.max_force_n == pytest.approx(full.max_force_n, rel=1e-3)
    assert part.elongation_at_max_mm == pytest.approx(full.elongation_at_max_mm, abs=0.01)
    assert part.energy_to_max_j == pytest.approx(full.energy_to_max_j, rel=3e-3)
    assert part.max_slope_n_mm == pytest.approx(full.max_slope_n_mm, rel=0.01)


def test_many_curves_of_all_lengths_in_blocks_come_out_as_one_by_one() -> None:
    rng = np.random.default_rng(6)
    curves = [piece(points=int(n), noise_n=0.05, seed=int(n)) for n in rng.integers(12, 4000, 150)]
    together = reduce(*curves)
    for index, curve in enumerate(curves):
        picked = CurveResults(**{f.name: getattr(together, f.name)[[index]] for f in fields(together)})
        assert_alike(picked, reduce(curve), 1e-9)


def test_one_long_record_among_many_short_ones_takes_no_room_for_each() -> None:
    curves = [piece(points=20_000), *(piece(points=14, seed=seed) for seed in range(2000))]
    x, f = (np.concatenate(parts) for parts in zip(*curves, strict=True))
    offsets = np.concatenate([[0], np.cumsum([curve[0].size for curve in curves])])
    tracemalloc.start()
    reduce_curves(x, f, offsets)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak_bytes < 60 * (x.nbytes + f.nbytes)


def test_the_sliding_slope_agrees_with_a_fit_to_each_window() -> None:
    x, f = piece(points=120, noise_n=0.3)
    result = reduce((x, f))
    peak = f.argmax()
    slopes = [
        np.polyfit(x[window], f[window], 1)[0]
        for start in x[: peak + 1]
        if start + 0.2 <= x[peak]
        for window in [(x >= start) & (x <= start + 0.2)]
    ]
    assert result.max_slope_n_mm == pytest.approx(max(slopes), rel=1e-9)


def test_digits_are_kept_far_from_the_origin_and_over_long_records() -> None:
    x = np.linspace(0, 60, 60_001)
    f = 30 * np.tanh(x) + 0.01 * x
    near, far = reduce((x, f)), reduce((x + 1e4, f))
    assert near.max_slope_n_mm == pytest.approx(30, rel=0.02)
    assert far.max_slope_n_mm == pytest.approx(near.max_slope_n_mm, rel=1e-6)


# --- what is refused


@pytest.mark.parametrize(
    "x, f, offsets",
    [
        ([0, 1], [0], [0, 2]),
        ([[0, 1]], [[0, 1]], [0, 2]),
        ([0, 1], [0, 1], [0, 1]),
        ([0, 1], [0, 1], [1, 2]),
        ([0, 1], [0, 1], [0, 2, 1, 2]),
        ([0, 1], [0, 1], [0.0, 2.0]),
        ([], [], np.array([], dtype=int)),
    ],
)
def test_arrays_that_do_not_fit_are_refused(x, f, offsets) -> None:
    with pytest.raises(ValueError, match=r"offsets|one-dimensional"):
        reduce_curves(x, f, offsets)


def test_no_curves_give_empty_results() -> None:
    assert reduce_curves([], [], [0]).max_force_n.shape == (0,)


@pytest.mark.parametrize(
    "change",
    [
        {"slack": "guess"},
        {"pre_force_n": 0.0},
        {"slope_window_mm": np.nan},
        {"break_drop_pct": 100.0},
        {"slip_drop_pct": -1.0},
        {"minimum_points": 3},
        {"elongation_jitter_mm": -0.1},
    ],
)
def test_settings_that_make_no_sense_are_refused(change) -> None:
    with pytest.raises(ValueError, match=next(iter(change))):
        replace(CurveSettings(), **change)
