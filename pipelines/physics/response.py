"""Response of MD/CD to the jet-to-wire ratio: a parabola in logarithms, its confidence band and its minimum.

MD/CD has its minimum near a ratio of 1 and rises on the drag side and on the rush side. Over the sheets of a trial,

    ln(MD/CD) = b0 + b1 u + b2 u², with u = ln(jet-to-wire ratio / centre),

is fitted by least squares. Both variables are positive ratios with a relative scatter; on logarithms MD/CD and CD/MD
give the same fit. The form is common practice, no source: a parabola describes the curve near its minimum, and
nothing is extrapolated beyond the ratios tried.

Many responses are fitted at once: arrays have one element per sheet, and ``group`` numbers the response of each sheet
from 0. Results are NaN where no value can be given.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from pipelines.physics.parabola import ROUNDING, FloatArray, IntArray, Parabolas, fit_parabolas

BoolArray = npt.NDArray[np.bool_]

MINIMUM_SHEETS = 4
"""One more than a parabola has coefficients, so that there is a residual scatter."""

MINIMUM_RATIOS, MINIMUM_DIFFERENCE = 3, 0.02
"""Number of ratios that a fit needs, and how much they must differ: common practice, no source."""

CONFIDENCE = 0.95
SIGNIFICANCE_LEVEL = 0.01
"""Of the test for lack of fit."""

CURVE_POINTS = 41

NEAR_REPEATS = 0.01
"""Variation within trial points up to this fraction of a variable's sum of squares is ignored: the sheets of a point
are meant to have one ratio. Common practice, no source."""

_LARGEST_LOGARITHM = 700.0
"""Logarithm whose exponential does not overflow in double precision."""


@dataclass(frozen=True, kw_only=True)
class Responses:
    """Responses of MD/CD to the jet-to-wire ratio; every array has one element per response.

    ``intercept``, ``linear`` and ``quadratic`` are b0, b1 and b2, ``residual_s`` is the residual standard deviation of
    ln(MD/CD). Intervals have 95 % confidence; ``minimum_low`` or ``minimum_high`` is NaN where the interval extends
    beyond the ratios tried. ``outcome`` is minimum; outside_range (the minimum would be beyond the ratios tried);
    no_minimum (the upward curvature is not significant); or not_fitted. The ``curve`` arrays have CURVE_POINTS
    columns.
    """

    n_sheets: IntArray
    n_trial_points: IntArray
    n_ratios: IntArray
    lowest: FloatArray
    highest: FloatArray
    center: FloatArray
    intercept: FloatArray
    linear: FloatArray
    quadratic: FloatArray
    residual_s: FloatArray
    minimum: FloatArray
    minimum_low: FloatArray
    minimum_high: FloatArray
    at_minimum: FloatArray
    at_minimum_low: FloatArray
    at_minimum_high: FloatArray
    lack_of_fit_p: FloatArray
    outcome: npt.NDArray[np.str_]
    bends_downwards: BoolArray
    curve_ratio: FloatArray
    curve: FloatArray
    curve_low: FloatArray
    curve_high: FloatArray


def fit_responses(
    jet_to_wire_ratio: npt.ArrayLike,
    md_cd_ratio: npt.ArrayLike,
    trial_point: npt.ArrayLike,
    group: npt.ArrayLike,
    n_groups: int,
) -> Responses:
    """Fit the responses of ``n_groups`` groups of sheets; the first four arrays have one element per sheet.

    ``trial_point`` is a number or text, unique within its group. A group is not fitted when it has fewer than
    MINIMUM_SHEETS sheets, or fewer than MINIMUM_RATIOS ratios that differ by MINIMUM_DIFFERENCE from each other.
    Raises ValueError when a ratio is not positive and finite.
    """
    ratio, value = np.asarray(jet_to_wire_ratio, np.float64), np.asarray(md_cd_ratio, np.float64)
    group_of_sheet = np.asarray(group, np.int64)
    if not all(np.all((array > 0) & np.isfinite(array)) for array in (ratio, value)):
        raise ValueError("jet-to-wire ratios and MD/CD must be positive and finite")
    point = _number_labels(group_of_sheet, np.asarray(trial_point))
    n_sheets = np.bincount(group_of_sheet, minlength=n_groups)
    n_ratios = _count_distinct_ratios(ratio, group_of_sheet, n_groups)
    lowest, highest = _range(ratio, group_of_sheet, n_groups)

    fitted = (n_sheets >= MINIMUM_SHEETS) & (n_ratios >= MINIMUM_RATIOS)
    used = fitted[group_of_sheet]
    row = (np.cumsum(fitted) - 1)[group_of_sheet[used]]
    x = np.log(ratio[used])
    parabolas, residual = fit_parabolas(x, np.log(value[used]), row)
    quantile = np.asarray(special.stdtrit(parabolas.degrees_of_freedom, (1 + CONFIDENCE) / 2), np.float64)

    position, *ends = parabolas.minimum_at(quantile)
    first, last = (np.log(end[fitted]) - parabolas.center for end in (lowest, highest))
    within = (first <= position) & (position <= last)
    minimum = np.where(within, position, np.nan)
    low, high = (np.where(within & (first <= end) & (end <= last), end, np.nan) for end in ends)
    outcome = np.full(n_groups, "not_fitted", dtype="<U13")
    outcome[fitted] = np.select([within, np.isfinite(position)], ["minimum", "outside_range"], "no_minimum")
    bends_downwards = np.zeros(n_groups, np.bool_)
    bends_downwards[fitted] = parabolas.curvature < -quantile * parabolas.curvature_error

    def expand(values: FloatArray) -> FloatArray:
        """Return the values of the fitted groups as values of all groups, NaN for the others."""
        expanded = np.full((n_groups, *values.shape[1:]), np.nan)
        expanded[fitted] = values
        return expanded

    def ratio_at(d: FloatArray) -> FloatArray:
        """Return the ratios of all groups at distances from the center, within the ratios tried despite rounding."""
        return np.clip(expand(np.exp(parabolas.center + d)), lowest, highest)

    intercept, linear, quadratic = parabolas.coefficients
    at_minimum, at_minimum_low, at_minimum_high = _confidence_band(parabolas, minimum, quantile)
    curve_ratio = np.linspace(lowest[fitted], highest[fitted], CURVE_POINTS)
    curve, curve_low, curve_high = _confidence_band(
        parabolas, np.log(curve_ratio) - parabolas.center, quantile
    )
    return Responses(
        n_sheets=n_sheets,
        n_trial_points=_count_points(point, group_of_sheet, n_groups),
        n_ratios=n_ratios,
        lowest=lowest,
        highest=highest,
        center=expand(np.exp(parabolas.center)),
        intercept=expand(intercept),
        linear=expand(linear),
        quadratic=expand(quadratic),
        residual_s=expand(parabolas.residual_s),
        minimum=ratio_at(minimum),
        minimum_low=ratio_at(low),
        minimum_high=ratio_at(high),
        at_minimum=expand(at_minimum),
        at_minimum_low=expand(at_minimum_low),
        at_minimum_high=expand(at_minimum_high),
        lack_of_fit_p=expand(_lack_of_fit_p(parabolas, residual, x, row, point[used])),
        outcome=outcome,
        bends_downwards=bends_downwards,
        curve_ratio=expand(curve_ratio.T),
        curve=expand(curve.T),
        curve_low=expand(curve_low.T),
        curve_high=expand(curve_high.T),
    )


def reasons(responses: Responses) -> list[str | None]:
    """Return for each response why it has no fit or no minimum, and why the fit is doubtful; None without remarks."""
    return [" ".join(_sentences(responses, index)) or None for index in range(len(responses.outcome))]


def _sentences(found: Responses, index: int) -> Iterator[str]:
    outcome = found.outcome[index]
    if outcome == "not_fitted":
        if (n := found.n_sheets[index]) < MINIMUM_SHEETS:
            yield f"Sheets with a jet-to-wire ratio and a valid MD/CD: {n}; a fit needs {MINIMUM_SHEETS}."
        else:
            yield (
                f"Jet-to-wire ratios that differ by {MINIMUM_DIFFERENCE:g} or more: {found.n_ratios[index]}; "
                f"a fit needs {MINIMUM_RATIOS}."
            )
    elif outcome == "no_minimum":
        if found.bends_downwards[index]:
            yield "The curve bends downwards: it has a maximum and no minimum."
        else:
            yield "The curve does not bend upwards significantly (95 % confidence)."
    elif outcome == "outside_range":
        falls = found.curve[index, 0] > found.curve[index, -1]
        yield f"The minimum would be {'above the highest' if falls else 'below the lowest'} ratio tried."
    else:
        if np.isnan(found.minimum_low[index]):
            yield "The 95 % interval of the minimum extends below the lowest ratio tried."
        if np.isnan(found.minimum_high[index]):
            yield "The 95 % interval of the minimum extends above the highest ratio tried."
    if (p := found.lack_of_fit_p[index]) < SIGNIFICANCE_LEVEL:
        yield (
            "The trial points are farther from the curve than the scatter of their sheets explains "
            f"({f'p = {p:.4f}' if p >= 0.0001 else 'p < 0.0001'}): they differ in more than the ratio, or a parabola "
            "does not fit them."
        )


def _confidence_band(
    parabolas: Parabolas, d: FloatArray, quantile: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return MD/CD at distances from the center, and the ends of the interval of the mean response.

    This is valid at the minimum too, although its position is an estimate: there the derivative is zero, so the
    position has no first-order effect.
    """
    mean, error = parabolas.evaluate(d)
    value, low, high = (
        np.exp(np.clip(each, -_LARGEST_LOGARITHM, _LARGEST_LOGARITHM))
        for each in (mean, mean - quantile * error, mean + quantile * error)
    )
    return value, low, high


def _lack_of_fit_p(
    parabolas: Parabolas, residual: FloatArray, x: FloatArray, group: IntArray, point: IntArray
) -> FloatArray:
    """Return the p-value of the test for lack of fit, for each parabola.

    F test of the parabola against the parabola plus an own level for each trial point. If all sheets of a point have
    one ratio, this is the test of lack of fit against pure error (Draper & Smith, Applied Regression Analysis; from
    memory). NaN where degrees of freedom are missing: too few points, or too few points with a second sheet.
    """
    groups = len(parabolas.n)
    n_of_point = np.bincount(point)

    def total(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(group, weights=values, minlength=groups), np.float64)

    def within_point(values: FloatArray) -> FloatArray:
        means = np.bincount(point, weights=values) / np.maximum(n_of_point, 1)
        return np.asarray(values - means[point])

    def orthogonal_to(direction: FloatArray, values: FloatArray) -> FloatArray:
        """Return the values minus their projection on a direction; unchanged where the direction is zero."""
        size = total(direction**2)
        return values - (total(values * direction) / np.where(size > 0, size, 1.0))[group] * direction

    d = x - parabolas.center[group]
    q = d**2 - parabolas.tilt[group] * d - parabolas.mean_d2[group]
    within_d = within_point(d)
    d_varies = total(within_d**2) > NEAR_REPEATS * total(d**2)
    within_d = np.where(d_varies[group], within_d, 0.0)
    within_q = orthogonal_to(within_d, within_point(q))
    q_varies = total(within_q**2) > NEAR_REPEATS * total(q**2)
    within_q = np.where(q_varies[group], within_q, 0.0)
    pure_error = orthogonal_to(within_q, orthogonal_to(within_d, within_point(residual)))

    parameters = _count_points(point, group, groups) + d_varies + q_varies
    df_error, df_lack = parabolas.n - parameters, parameters - 3
    testable = (df_error > 0) & (df_lack > 0)
    df_error, df_lack = np.where(testable, df_error, 1), np.where(testable, df_lack, 1)
    error = np.maximum(total(pure_error**2) / df_error, ROUNDING**2)
    lack_of_fit = np.maximum(total(residual**2) - total(pure_error**2), 0.0) / df_lack
    return np.where(testable, special.fdtrc(df_lack, df_error, lack_of_fit / error), np.nan)


def _number_labels(group: IntArray, label: npt.NDArray[np.generic]) -> IntArray:
    """Return a number from 0 for each combination of group and label."""
    names, name = np.unique(label, return_inverse=True)
    return np.unique(group * max(len(names), 1) + name, return_inverse=True)[1]


def _count_points(point: IntArray, group: IntArray, n_groups: int) -> IntArray:
    """Return the number of trial points of each group."""
    _, first = np.unique(point, return_index=True)
    return np.bincount(group[first], minlength=n_groups)


def _range(ratio: FloatArray, group: IntArray, n_groups: int) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and the highest ratio of each group."""
    lowest, highest = np.full(n_groups, np.nan), np.full(n_groups, np.nan)
    np.fmin.at(lowest, group, ratio)
    np.fmax.at(highest, group, ratio)
    return lowest, highest


def _count_distinct_ratios(ratio: FloatArray, group: IntArray, n_groups: int) -> IntArray:
    """Return for each group how many ratios differ from each other by MINIMUM_DIFFERENCE or more."""
    count, last = [0] * n_groups, [-np.inf] * n_groups
    order = np.argsort(ratio)
    for number, value in zip(group[order].tolist(), ratio[order].tolist(), strict=True):
        if (
            value - last[number] > MINIMUM_DIFFERENCE - 1e-9
        ):  # in double precision 1.02 - 1.00 is slightly less than 0.02
            count[number] += 1
            last[number] = value
    return np.array(count, np.int64)
