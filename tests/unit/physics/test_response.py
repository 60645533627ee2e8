"""The response to the jet-to-wire ratio: against another program, by simulation, and where there is nothing to fit."""

from dataclasses import fields

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.anova import anova_lm

from pipelines.physics.parabola import fit_parabolas
from pipelines.physics.response import CURVE_POINTS, Responses, fit_responses, reasons

LADDER = np.repeat([0.85, 0.95, 1.05, 1.15, 1.30], 4)
POINT = np.repeat(np.arange(5), 4)
MINIMUM_AT = 1.02


def fit(ratio, md_cd, point=None) -> Responses:
    """Fit one response, with a trial point for each sheet where none is given."""
    point = np.arange(len(ratio)) if point is None else point
    return fit_responses(ratio, md_cd, point, np.zeros(len(ratio), int), 1)


def orientation(ratio, bend=8.0):
    return 1.4 * np.exp(bend * np.log(np.asarray(ratio) / MINIMUM_AT) ** 2)


def simulated(count: int, seed: int, scatter=0.05) -> Responses:
    """Fit many ladders that differ by chance alone."""
    rng = np.random.default_rng(seed)
    md_cd = orientation(LADDER) * np.exp(rng.normal(0, scatter, (count, LADDER.size)))
    group = np.repeat(np.arange(count), LADDER.size)
    return fit_responses(np.tile(LADDER, count), md_cd.ravel(), np.tile(POINT, count), group, count)


def results_of(found: Responses, index: int = 0) -> dict[str, object]:
    """Return the results of one response."""
    return {field.name: np.asarray(getattr(found, field.name))[index] for field in fields(found)}


@pytest.fixture(params=["one ratio a point", "ratios all over the points"])
def frame(request) -> pd.DataFrame:
    """Sheets of five trial points with a level of their own each, which the parabola alone does not describe."""
    rng = np.random.default_rng(5)
    ratio = LADDER if request.param == "one ratio a point" else rng.uniform(0.8, 1.3, LADDER.size)
    level = np.array([0.0, 0.04, -0.07, 0.03, 0.02])[POINT]
    md_cd = orientation(ratio) * np.exp(level + rng.normal(0, 0.03, ratio.size))
    u = np.log(ratio) - np.log(ratio).mean()
    return pd.DataFrame({"ratio": ratio, "md_cd": md_cd, "u": u, "y": np.log(md_cd), "point": POINT})


def test_fit_and_band_are_those_of_another_program(frame) -> None:
    found = fit(frame["ratio"], frame["md_cd"], frame["point"])
    reference = smf.ols("y ~ u + I(u**2)", frame).fit()
    assert [*found.intercept, *found.linear, *found.quadratic] == pytest.approx(reference.params.to_numpy())
    assert found.residual_s == pytest.approx(np.sqrt(reference.mse_resid))
    u = np.log(found.curve_ratio[0] / found.center)
    band = reference.get_prediction(pd.DataFrame({"u": u})).summary_frame()
    assert np.log(found.curve[0]) == pytest.approx(band["mean"].to_numpy())
    assert np.log(found.curve_low[0]) == pytest.approx(band["mean_ci_lower"].to_numpy())
    assert np.log(found.curve_high[0]) == pytest.approx(band["mean_ci_upper"].to_numpy())


def test_lack_of_fit_agrees_with_another_program(frame) -> None:
    varies = frame.groupby("point")["ratio"].nunique().max() > 1
    narrow = smf.ols("y ~ u + I(u**2)", frame).fit()
    wide = smf.ols("y ~ u + I(u**2) + C(point)" if varies else "y ~ C(point)", frame).fit()
    p = anova_lm(narrow, wide)["Pr(>F)"].iloc[1]
    found = fit(frame["ratio"], frame["md_cd"], frame["point"])
    assert found.lack_of_fit_p == pytest.approx(p, rel=1e-6)
    assert p < 0.01
    assert "they differ in more than the ratio" in reasons(found)[0]


def test_ratios_that_hardly_differ_within_a_point_count_as_repeats() -> None:
    """Their slopes within points are not tested, but the lack of fit between points is found as before."""
    rng = np.random.default_rng(3)
    noise = np.exp(rng.normal(0, 0.03, LADDER.size))
    scattered = LADDER * np.exp(rng.normal(0, 0.002, LADDER.size))
    exact, near = (
        fit(ratio, orientation(ratio) * noise, POINT).lack_of_fit_p for ratio in (LADDER, scattered)
    )
    assert near == pytest.approx(exact, abs=0.02)
    assert 0.1 < exact < 0.9


def test_the_interval_of_the_minimum_holds_the_truth_in_95_of_100_ladders() -> None:
    count = 2000
    found = simulated(count, seed=7)
    assert (found.outcome == "minimum").all()
    low, high = np.nan_to_num(found.minimum_low, nan=0), np.nan_to_num(found.minimum_high, nan=np.inf)
    assert _is_share((low <= MINIMUM_AT) & (high >= MINIMUM_AT), 0.95)
    assert np.median(high - low) < 0.05, "wide intervals hold anything"


def test_the_band_holds_the_truth_in_95_of_100_ladders_at_each_ratio() -> None:
    found = simulated(2000, seed=8)
    truth = orientation(found.curve_ratio[0])
    for column in range(0, CURVE_POINTS, 10):
        inside = (found.curve_low[:, column] <= truth[column]) & (
            truth[column] <= found.curve_high[:, column]
        )
        assert _is_share(inside, 0.95)
    held = (found.at_minimum_low <= 1.4) & (found.at_minimum_high >= 1.4)
    assert 0.93 < held.mean() < 0.97, "to first order, for the place of the minimum is an estimate"


def test_lack_of_fit_is_found_by_chance_as_often_as_its_level_says() -> None:
    p = simulated(2000, seed=9).lack_of_fit_p
    assert stats.kstest(p, "uniform").pvalue > 0.001
    assert _is_share(p < 0.01, 0.01)


def test_a_straight_line_seldom_has_a_minimum() -> None:
    """Of a curve without bend 2.5 of 100 bend upwards significantly, and as many downwards."""
    rng = np.random.default_rng(10)
    md_cd = np.exp(rng.normal(0.3, 0.05, (2000, LADDER.size)))
    group = np.repeat(np.arange(2000), LADDER.size)
    found = fit_responses(np.tile(LADDER, 2000), md_cd.ravel(), np.tile(POINT, 2000), group, 2000)
    assert _is_share(np.isin(found.outcome, ["minimum", "outside_range"]), 0.025)
    assert _is_share(found.bends_downwards, 0.025)


def _is_share(cases, share: float) -> bool:
    """Return whether as many cases are true as chance makes 999 times in 1000."""
    low, high = stats.binom.interval(0.999, cases.size, share)
    return bool(low <= cases.sum() <= high)


@given(st.floats(0.01, 100), st.floats(0.5, 2), st.integers(0, 1000))
def test_scaling_a_ratio_scales_the_results(md_cd_by, ratio_by, seed) -> None:
    scatter = np.exp(np.random.default_rng(seed).normal(0, 0.03, LADDER.size))
    before = fit(LADDER, orientation(LADDER) * scatter, POINT)
    after = fit(LADDER * ratio_by, md_cd_by * orientation(LADDER) * scatter, POINT)
    for name in ("minimum", "minimum_low", "minimum_high", "center"):
        assert getattr(after, name) == pytest.approx(ratio_by * getattr(before, name), nan_ok=True)
    for name in ("at_minimum", "at_minimum_low", "at_minimum_high"):
        assert getattr(after, name) == pytest.approx(md_cd_by * getattr(before, name))
    for name in ("quadratic", "residual_s", "lack_of_fit_p"):
        assert getattr(after, name) == pytest.approx(getattr(before, name), rel=1e-6)


def test_it_does_not_matter_which_way_round_the_jet_to_wire_ratio_is_written() -> None:
    md_cd = orientation(LADDER) * np.exp(np.random.default_rng(1).normal(0, 0.03, LADDER.size))
    as_is, inverse = fit(LADDER, md_cd, POINT), fit(1 / LADDER, md_cd, POINT)
    assert 1 / inverse.minimum == pytest.approx(as_is.minimum)
    assert 1 / inverse.minimum_high == pytest.approx(as_is.minimum_low)
    assert inverse.at_minimum == pytest.approx(as_is.at_minimum)


def test_each_response_is_fitted_as_if_it_were_alone() -> None:
    """A response does not depend on the other groups or on the order of the sheets."""
    rng = np.random.default_rng(2)
    sizes = [20, 0, 3, 12, 7, 1, 30]
    group = np.repeat(np.arange(len(sizes)), sizes)
    ratio = rng.uniform(0.8, 1.3, group.size)
    md_cd = orientation(ratio) * np.exp(rng.normal(0, 0.05, group.size))
    point = rng.integers(0, 4, group.size)
    order = rng.permutation(group.size)
    together = fit_responses(ratio[order], md_cd[order], point[order], group[order], len(sizes))
    assert list(together.n_sheets) == sizes
    for number in range(len(sizes)):
        own = group == number
        alone = results_of(fit(ratio[own], md_cd[own], point[own]))
        for name, value in results_of(together, number).items():
            if isinstance(alone[name], np.str_):
                assert value == alone[name]
            else:
                assert value == pytest.approx(alone[name], rel=1e-9, nan_ok=True), name


@given(
    st.lists(
        st.tuples(
            st.one_of(st.sampled_from([0.9, 0.92, 1.0, 1.1]), st.floats(0.2, 5)),
            st.one_of(st.sampled_from([1.0, 1.5]), st.floats(1e-6, 1e6)),
            st.integers(0, 3),
        ),
        max_size=12,
    )
)
def test_whatever_the_sheets_nothing_infinite_and_nothing_beyond_the_ratios_tried(sheets) -> None:
    ratio, md_cd, point = (
        (np.array(column) for column in zip(*sheets, strict=True)) if sheets else ([], [], [])
    )
    found = fit(ratio, md_cd, point)
    (outcome,) = found.outcome
    here = results_of(found)
    always = ["lowest", "highest"] if sheets else []
    of_fit = [
        "center",
        "intercept",
        "linear",
        "quadratic",
        "residual_s",
        "curve_ratio",
        "curve",
        "curve_low",
        "curve_high",
    ]
    of_minimum = ["minimum", "at_minimum", "at_minimum_low", "at_minimum_high"]
    present = always + of_fit * (outcome != "not_fitted") + of_minimum * (outcome == "minimum")
    for name in ("lowest", "highest", *of_fit, *of_minimum):
        assert np.all(np.isfinite(here[name]) if name in present else np.isnan(here[name])), name
    if outcome != "not_fitted":
        assert (here["curve_ratio"][[0, -1]] == [here["lowest"], here["highest"]]).all()
        assert (here["curve_low"] <= here["curve"]).all() and (here["curve"] <= here["curve_high"]).all()
    for name in ("minimum", "minimum_low", "minimum_high"):
        assert np.isnan(here[name]) or here["lowest"] <= here[name] <= here["highest"]
    assert np.isnan(here["lack_of_fit_p"]) or 0 <= here["lack_of_fit_p"] <= 1
    assert (reasons(found)[0] is not None) or outcome == "minimum"


@pytest.mark.parametrize(
    ("ratios", "n_ratios", "outcome", "reason"),
    [
        ([], 0, "not_fitted", "valid MD/CD: 0; a fit needs 4"),
        ([0.9, 1.0, 1.1], 3, "not_fitted", "valid MD/CD: 3; a fit needs 4"),
        ([0.9, 0.9, 1.1, 1.1], 2, "not_fitted", "0.02 or more: 2; a fit needs 3"),
        ([0.9, 0.9, 0.9, 0.9], 1, "not_fitted", "0.02 or more: 1; a fit needs 3"),
        ([1.000, 1.010, 1.019, 1.030], 2, "not_fitted", "0.02 or more: 2; a fit needs 3"),
        ([1.00, 1.02, 1.04, 1.04], 3, "minimum", None),
        ([1.000, 1.012, 1.024, 1.036, 1.048], 3, "minimum", None),
    ],
)  # fmt: skip
def test_a_fit_needs_four_sheets_at_three_clearly_different_ratios(ratios, n_ratios, outcome, reason) -> None:
    found = fit(ratios, orientation(ratios))
    assert list(found.n_ratios) == [n_ratios]
    assert list(found.outcome) == [outcome]
    (reason_given,) = reasons(found)
    assert (reason_given or "").find(reason or "") >= 0 and (reason_given is None) == (reason is None)


@pytest.mark.parametrize(
    ("md_cd", "outcome", "reason"),
    [
        (lambda ratio: np.exp(3 * np.log(ratio / 1.6) ** 2), "outside_range", "would be above the highest"),
        (lambda ratio: np.exp(3 * np.log(ratio / 0.6) ** 2), "outside_range", "would be below the lowest"),
        (lambda ratio: np.exp(-3 * np.log(ratio) ** 2), "no_minimum", "bends downwards"),
        (lambda ratio: 1.5 + 0 * ratio, "no_minimum", "not bend upwards significantly"),
        (lambda ratio: 1.0 + 0 * ratio, "no_minimum", "not bend upwards significantly"),
        (lambda ratio: 1.5 * ratio**2, "no_minimum", "not bend upwards significantly"),
    ],
)
@pytest.mark.parametrize("scatter", [0.0, 0.002])
def test_without_a_minimum_none_is_given(md_cd, outcome, reason, scatter) -> None:
    noise = np.exp(np.random.default_rng(4).normal(0, scatter, LADDER.size))
    found = fit(LADDER, md_cd(LADDER) * noise, POINT)
    assert list(found.outcome) == [outcome]
    assert reason in reasons(found)[0]
    assert np.isnan([*found.minimum, *found.minimum_low, *found.minimum_high, *found.at_minimum]).all()


def test_an_end_of_the_interval_beyond_the_ratios_tried_is_missing() -> None:
    ratio = np.repeat([0.99, 1.05, 1.10, 1.20], 3)
    found = fit(ratio, orientation(ratio) * np.exp(np.random.default_rng(0).normal(0, 0.04, 12)))
    assert list(found.outcome) == ["minimum"]
    assert np.isnan(found.minimum_low) and found.minimum < found.minimum_high
    assert reasons(found) == ["The 95 % interval of the minimum extends below the lowest ratio tried."]


def test_a_perfect_parabola_is_found_with_no_more_scatter_than_rounding() -> None:
    found = fit(LADDER, orientation(LADDER), POINT)
    assert found.minimum == pytest.approx(MINIMUM_AT, rel=1e-9)
    assert found.minimum_low <= found.minimum <= found.minimum_high
    assert found.minimum_high - found.minimum_low < 1e-9
    assert found.at_minimum == pytest.approx(1.4)
    assert 0 < found.residual_s < 1e-11
    assert found.lack_of_fit_p == pytest.approx(1, abs=1e-3), "rounding is no lack of fit"


def test_repeats_without_any_scatter_beside_the_curve_do_not_fit() -> None:
    md_cd = orientation(LADDER) * np.array([1.0, 1.1, 0.95, 1.02, 0.9])[POINT]
    found = fit(LADDER, md_cd, POINT)
    assert found.lack_of_fit_p < 1e-12
    assert "(p < 0.0001)" in reasons(found)[0]


@pytest.mark.parametrize(
    ("ratio", "point"),
    [
        (LADDER, np.arange(20)),
        (LADDER, np.zeros(20, int)),
        (np.array([0.9, 1.0, 1.1])[POINT // 2], POINT // 2),
    ],
    ids=["no point has a second sheet", "one point", "three points of one ratio each"],
)
def test_lack_of_fit_that_cannot_be_tested_is_missing(ratio, point) -> None:
    noise = np.exp(np.random.default_rng(6).normal(0, 0.01, LADDER.size))
    found = fit(ratio, orientation(ratio) * noise, point)
    assert list(found.outcome) == ["minimum"]
    assert np.isnan(found.lack_of_fit_p)


def test_labels_of_points_may_be_text_and_count_within_their_response() -> None:
    md_cd = orientation(LADDER) * np.exp(np.random.default_rng(11).normal(0, 0.05, LADDER.size))
    numbers, texts = fit(LADDER, md_cd, POINT), fit(LADDER, md_cd, np.array(list("ABCDE"))[POINT])
    assert list(texts.n_trial_points) == list(numbers.n_trial_points) == [5]
    assert texts.lack_of_fit_p == numbers.lack_of_fit_p
    twice = fit_responses(np.tile(LADDER, 2), np.tile(md_cd, 2), np.tile(POINT, 2), np.repeat([0, 1], 20), 2)
    assert list(twice.n_trial_points) == [5, 5]
    assert twice.lack_of_fit_p == pytest.approx(np.tile(numbers.lack_of_fit_p, 2))


def test_half_a_million_sheets_find_the_minimum_closely() -> None:
    rng = np.random.default_rng(12)
    ratio = rng.uniform(0.8, 1.3, 500_000)
    found = fit(
        ratio, orientation(ratio) * np.exp(rng.normal(0, 0.05, ratio.size)), rng.integers(0, 9, ratio.size)
    )
    assert found.minimum == pytest.approx(MINIMUM_AT, abs=1e-3)
    assert 0 < found.minimum_high - found.minimum_low < 1e-3
    assert found.n_ratios == 25


@pytest.mark.parametrize("wrong", [0.0, -1.0, np.nan, np.inf])
def test_a_ratio_that_cannot_be_is_refused(wrong) -> None:
    ratio, md_cd = [0.9, 1.0, 1.1, 1.2], [1.5, 1.4, 1.5, 1.7]
    with pytest.raises(ValueError, match="positive and finite"):
        fit([wrong, *ratio[1:]], md_cd)
    with pytest.raises(ValueError, match="positive and finite"):
        fit(ratio, [wrong, *md_cd[1:]])


@pytest.mark.parametrize(
    "x", [[1.0, 1.0, 1.0, 1.0], [1.0, 1.0, 2.0, 2.0], [0.1, 0.1, 0.1, 0.3], [1.0, 2.0, 3.0]]
)
def test_a_parabola_needs_four_points_at_three_different_x(x) -> None:
    with pytest.raises(ValueError, match=r"four points|three different"):
        fit_parabolas(np.array(x), np.ones(len(x)), np.zeros(len(x), int))
