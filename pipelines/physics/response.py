"""How MD/CD answers to the jet-to-wire ratio: a parabola in logarithms, its band, and where it is least.

Anisotropy is least near a ratio of 1 and rises on the drag and on the rush side. Over the sheets of a trial,

    ln(MD/CD) = b0 + b1 u + b2 u², with u = ln(jet-to-wire ratio / centre),

is fitted by least squares. Both are ratios, positive and with a scatter that is relative, and on logarithms it does
not matter which way round a ratio is written. The form is common practice, no source: a parabola describes the
bottom of the curve, and nothing is told beyond the ratios tried.

Many responses are fitted at once: arrays hold an element per sheet, and ``group`` tells, from 0, which response a
sheet belongs to. In what comes out, NaN stands where there is nothing to tell.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from pipelines.physics.parabola import ROUNDING, FloatArray, IntArray, Parabolas, fit_parabolas

BoolArray = npt.NDArray[np.bool_]

LEAST_SHEETS = 4
"""One more than a parabola has coefficients, so that scatter is left to judge by."""

LEAST_RATIOS, LEAST_DIFFERENCE = 3, 0.02
"""Ratios that a fit needs, and by how much they must differ: common practice, no source."""

CONFIDENCE = 0.95
SIGNIFICANT = 0.01
"""Level of the test for lack of fit."""

CURVE_POINTS = 41

NEAR_REPEATS = 0.01
"""Share of a variable's sum of squares up to which its variation within trial points is overlooked: the sheets of a
point are meant to be made at one ratio. Common practice, no source."""

_LARGEST_LOGARITHM = 700.0
"""Of numbers that doubles hold."""


@dataclass(frozen=True, kw_only=True)
class Responses:
    """Responses of MD/CD to the jet-to-wire ratio, an element of each array per response.

    ``intercept``, ``linear`` and ``quadratic`` are b0, b1 and b2, ``residual_s`` is the residual standard deviation of
    ln(MD/CD). Ends of intervals are those of 95 %; ``minimum_low`` or ``minimum_high`` is missing where the interval
    leaves the ratios tried. ``outcome`` is minimum; outside_range, where the curve would be least beyond the ratios
    tried; no_minimum, where it does not bend upwards for certain; or not_fitted. The ``curve`` arrays have
    CURVE_POINTS columns.
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
    """Fit the responses of ``n_groups`` groups of sheets; the first four arrays have an element per sheet.

    ``trial_point`` is a label, number or text, that counts within its group. Not fitted is a group with fewer than
    LEAST_SHEETS sheets, or with fewer than LEAST_RATIOS ratios of which any two differ by LEAST_DIFFERENCE. Raises
    ValueError when a ratio is not positive and finite.
    """
    ratio, value = np.asarray(jet_to_wire_ratio, np.float64), np.asarray(md_cd_ratio, np.float64)
    belongs = np.asarray(group, np.int64)
    if not all(np.all((array > 0) & np.isfinite(array)) for array in (ratio, value)):
        raise ValueError("jet-to-wire ratios and MD/CD must be positive and finite")
    point = _numbered(belongs, np.asarray(trial_point))
    n_sheets = np.bincount(belongs, minlength=n_groups)
    n_ratios = _clearly_different(ratio, belongs, n_groups)
    lowest, highest = _range(ratio, belongs, n_groups)

    fitted = (n_sheets >= LEAST_SHEETS) & (n_ratios >= LEAST_RATIOS)
    enters = fitted[belongs]
    row = (np.cumsum(fitted) - 1)[belongs[enters]]
    x = np.log(ratio[enters])
    parabolas, residual = fit_parabolas(x, np.log(value[enters]), row)
    quantile = np.asarray(special.stdtrit(parabolas.degrees_of_freedom, (1 + CONFIDENCE) / 2), np.float64)

    place, *ends = parabolas.least_at(quantile)
    first, last = (np.log(end[fitted]) - parabolas.center for end in (lowest, highest))
    tried = (first <= place) & (place <= last)
    minimum = np.where(tried, place, np.nan)
    low, high = (np.where(tried & (first <= end) & (end <= last), end, np.nan) for end in ends)
    outcome = np.full(n_groups, "not_fitted", dtype="<U13")
    outcome[fitted] = np.select([tried, np.isfinite(place)], ["minimum", "outside_range"], "no_minimum")
    bends_downwards = np.zeros(n_groups, np.bool_)
    bends_downwards[fitted] = parabolas.curvature < -quantile * parabolas.curvature_error

    def of_all(of_fitted: FloatArray) -> FloatArray:
        """Give those that are not fitted their places, with NaN."""
        found = np.full((n_groups, *of_fitted.shape[1:]), np.nan)
        found[fitted] = of_fitted
        return found

    def ratio_at(d: FloatArray) -> FloatArray:
        """Return the ratios, of all groups, at distances from the center; rounding must not lead beyond those tried."""
        return np.clip(of_all(np.exp(parabolas.center + d)), lowest, highest)

    intercept, linear, quadratic = parabolas.coefficients
    at_minimum, at_minimum_low, at_minimum_high = _band(parabolas, minimum, quantile)
    curve_ratio = np.linspace(lowest[fitted], highest[fitted], CURVE_POINTS)
    curve, curve_low, curve_high = _band(parabolas, np.log(curve_ratio) - parabolas.center, quantile)
    return Responses(
        n_sheets=n_sheets,
        n_trial_points=_points_of(point, belongs, n_groups),
        n_ratios=n_ratios,
        lowest=lowest,
        highest=highest,
        center=of_all(np.exp(parabolas.center)),
        intercept=of_all(intercept),
        linear=of_all(linear),
        quadratic=of_all(quadratic),
        residual_s=of_all(parabolas.residual_s),
        minimum=ratio_at(minimum),
        minimum_low=ratio_at(low),
        minimum_high=ratio_at(high),
        at_minimum=of_all(at_minimum),
        at_minimum_low=of_all(at_minimum_low),
        at_minimum_high=of_all(at_minimum_high),
        lack_of_fit_p=of_all(_lack_of_fit_p(parabolas, residual, x, row, point[enters])),
        outcome=outcome,
        bends_downwards=bends_downwards,
        curve_ratio=of_all(curve_ratio.T),
        curve=of_all(curve.T),
        curve_low=of_all(curve_low.T),
        curve_high=of_all(curve_high.T),
    )


def reasons(responses: Responses) -> list[str | None]:
    """Return for each response why there is no fit or no minimum, and what speaks against the fit; or None."""
    return [" ".join(_sentences(responses, index)) or None for index in range(len(responses.outcome))]


def _sentences(found: Responses, index: int) -> Iterator[str]:
    outcome = found.outcome[index]
    if outcome == "not_fitted":
        if (n := found.n_sheets[index]) < LEAST_SHEETS:
            yield f"Sheets with a jet-to-wire ratio and an MD/CD that counts: {n}; a fit needs {LEAST_SHEETS}."
        else:
            yield (
                f"Jet-to-wire ratios that differ by {LEAST_DIFFERENCE:g} or more: {found.n_ratios[index]}; "
                f"a fit needs {LEAST_RATIOS}."
            )
    elif outcome == "no_minimum":
        if found.bends_downwards[index]:
            yield "The curve bends downwards: it has a greatest value and no least."
        else:
            yield "It is not sure, at 95 % confidence, that the curve bends upwards."
    elif outcome == "outside_range":
        falls = found.curve[index, 0] > found.curve[index, -1]
        yield f"The curve would be least {'above the highest' if falls else 'below the lowest'} ratio tried."
    else:
        if np.isnan(found.minimum_low[index]):
            yield "The interval of the minimum reaches below the lowest ratio tried."
        if np.isnan(found.minimum_high[index]):
            yield "The interval of the minimum reaches above the highest ratio tried."
    if (p := found.lack_of_fit_p[index]) < SIGNIFICANT:
        yield (
            "The trial points lie further off the curve than the scatter of their sheets explains "
            f"({f'p = {p:.4f}' if p >= 0.0001 else 'p < 0.0001'}): something else than the ratio differs between "
            "them, or the form of the curve does not suit."
        )


def _band(
    parabolas: Parabolas, d: FloatArray, quantile: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return MD/CD at distances from the center, with the interval of the mean response there.

    At the minimum this holds although its place is an estimate: there the curve is level, so that to first order the
    place does not matter.
    """
    mean, error = parabolas.at(d)
    value, low, high = (
        np.exp(np.clip(each, -_LARGEST_LOGARITHM, _LARGEST_LOGARITHM))
        for each in (mean, mean - quantile * error, mean + quantile * error)
    )
    return value, low, high


def _lack_of_fit_p(
    parabolas: Parabolas, residual: FloatArray, x: FloatArray, group: IntArray, point: IntArray
) -> FloatArray:
    """Return how probable residuals so large between trial points are if the parabola is all that tells them apart.

    F test of the parabola against the parabola with a level of its own for each trial point. Where the sheets of a
    point are at one ratio, that is lack of fit against pure error (Draper & Smith, Applied Regression Analysis; from
    memory). NaN where nothing is left to test or to test against: too few points, or too few with a second sheet.
    """
    groups = len(parabolas.n)
    n_of_point = np.bincount(point)

    def total(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(group, weights=values, minlength=groups), np.float64)

    def within_point(values: FloatArray) -> FloatArray:
        means = np.bincount(point, weights=values) / np.maximum(n_of_point, 1)
        return np.asarray(values - means[point])

    def without(values: FloatArray, direction: FloatArray) -> FloatArray:
        """Take from values what runs along a direction; nothing where the direction is zero."""
        size = total(direction**2)
        return values - (total(values * direction) / np.where(size > 0, size, 1.0))[group] * direction

    d = x - parabolas.center[group]
    q = d**2 - parabolas.tilt[group] * d - parabolas.mean_d2[group]
    along_d = within_point(d)
    d_varies = total(along_d**2) > NEAR_REPEATS * total(d**2)
    along_d = np.where(d_varies[group], along_d, 0.0)
    along_q = without(within_point(q), along_d)
    q_varies = total(along_q**2) > NEAR_REPEATS * total(q**2)
    along_q = np.where(q_varies[group], along_q, 0.0)
    pure_error = without(without(within_point(residual), along_d), along_q)

    parameters = _points_of(point, group, groups) + d_varies + q_varies
    of_error, of_misfit = parabolas.n - parameters, parameters - 3
    testable = (of_error > 0) & (of_misfit > 0)
    of_error, of_misfit = np.where(testable, of_error, 1), np.where(testable, of_misfit, 1)
    error = np.maximum(total(pure_error**2) / of_error, ROUNDING**2)
    misfit = np.maximum(total(residual**2) - total(pure_error**2), 0.0) / of_misfit
    return np.where(testable, special.fdtrc(of_misfit, of_error, misfit / error), np.nan)


def _numbered(group: IntArray, label: npt.NDArray[np.generic]) -> IntArray:
    """Return a number from 0 for each combination of group and label."""
    names, name = np.unique(label, return_inverse=True)
    return np.unique(group * max(len(names), 1) + name, return_inverse=True)[1]


def _points_of(point: IntArray, group: IntArray, n_groups: int) -> IntArray:
    """Return how many trial points each group has."""
    _, first = np.unique(point, return_index=True)
    return np.bincount(group[first], minlength=n_groups)


def _range(ratio: FloatArray, group: IntArray, n_groups: int) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and the highest ratio of each group."""
    lowest, highest = np.full(n_groups, np.nan), np.full(n_groups, np.nan)
    np.fmin.at(lowest, group, ratio)
    np.fmax.at(highest, group, ratio)
    return lowest, highest


def _clearly_different(ratio: FloatArray, group: IntArray, n_groups: int) -> IntArray:
    """Return for each group the most ratios of which any two differ by LEAST_DIFFERENCE, counted from the lowest up."""
    count, last = [0] * n_groups, [-np.inf] * n_groups
    order = np.argsort(ratio)
    for number, value in zip(group[order].tolist(), ratio[order].tolist(), strict=True):
        if value - last[number] > LEAST_DIFFERENCE - 1e-9:  # in doubles 1.02 - 1.00 is not quite 0.02
            count[number] += 1
            last[number] = value
    return np.array(count, np.int64)
