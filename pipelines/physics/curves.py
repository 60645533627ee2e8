"""Reduction of force-elongation curves of tensile test pieces, many curves at once.

Input arrays hold all curves one after the other. Blocks of curves of similar length are processed as rows of an
array. Rows are padded with their last point, which adds no area and no elongation.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Literal, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]
Scalar = TypeVar("Scalar", bound=np.generic)

WINDOW_POINTS = 5
"""Minimum number of points for a slope; where points are far apart, the window grows."""

LEAD_SLOPE = 0.02
"""The start of a record counts as flat up to this fraction of the maximum slope."""

NOISE_LIMIT = 9.0
"""Number of standard deviations of the force noise that a drop or a rise must exceed. The largest drop within 1,000
points of normal noise is 6.3 on average, and above 9 in none of 10,000 records (computed by simulation, seed 1)."""

SATURATED_POINTS, SATURATED_RISE = 5, 0.005
"""A saturated record has at least this many points exactly at the maximum, over which the slope before them would
have added this fraction of the maximum. The second condition excludes a flat top at a coarse resolution."""

BEND_TAIL, BEND_SLOPE = 0.25, 0.5
"""The second line of the bend is fitted to this last fraction of the elongation before the maximum; the curve has a
bend if that line's slope is below this fraction of the maximum slope."""

_BLOCK_POINTS = 1 << 16
"""Points processed at a time, which limits memory; half or twice as many do not change the speed."""


@dataclass(frozen=True)
class CurveSettings:
    """Settings of the reduction. Defaults are common practice, no source, unless stated otherwise.

    slack: the zero of elongation. "tangent": where the tangent at the maximum slope crosses zero force;
        "pre_force": where the force last crosses ``pre_force_n`` before the maximum; "none": as recorded.
    remove_force_zero: subtract the mean force of a flat start of the record, if it has one.
    slope_window_mm: window, in elongation, of the sliding slope. The maximum of many slopes is biased: low by
        curvature within a long window, high by noise in a short one. Bias of the maximum slope, % (root mean
        square error in parentheses), for F = 100 tanh(0.8 x) N over 2.5 mm, 1,001 points, by force noise;
        computed by simulation of 400 curves each, seed 1:

            window, mm     0.05          0.1           0.2           0.3           0.5
            no noise    -0.0 ( 0.0)   -0.2 ( 0.2)   -0.8 ( 0.8)   -1.7 ( 1.7)   -4.6 ( 4.6)
            0.05 N      +1.3 ( 1.4)   +0.0 ( 0.2)   -0.8 ( 0.8)   -1.7 ( 1.7)   -4.6 ( 4.6)
            0.1 N       +3.1 ( 3.2)   +0.4 ( 0.6)   -0.7 ( 0.8)   -1.7 ( 1.7)   -4.6 ( 4.6)
            0.2 N       +6.8 ( 7.0)   +1.4 ( 1.6)   -0.6 ( 0.8)   -1.7 ( 1.7)   -4.6 ( 4.6)
            0.5 N      +19.1 (19.6)   +4.8 ( 5.2)   +0.0 ( 0.9)   -1.6 ( 1.7)   -4.6 ( 4.6)

        At 0.2 mm the bias is 0.8 % by curvature, and noise of half a percent of the maximum force adds no more
        than that. No other window is within 1 % at every noise.
    break_drop_pct: drop below the maximum force that counts as a break.
    slip_drop_pct: minimum drop before the maximum force that counts as a slip in a clamp.
    minimum_points: minimum number of points up to the maximum force; a slope window must fit into them too.
    elongation_jitter_mm: how far elongation may step back because of noise.

    Raises ValueError for an invalid setting.
    """

    slack: Literal["tangent", "pre_force", "none"] = "tangent"
    pre_force_n: float = 0.2
    remove_force_zero: bool = True
    slope_window_mm: float = 0.2
    break_drop_pct: float = 10.0
    slip_drop_pct: float = 2.0
    minimum_points: int = 10
    elongation_jitter_mm: float = 0.01

    def __post_init__(self) -> None:
        if self.slack not in ("tangent", "pre_force", "none"):
            raise ValueError(f"slack must be tangent, pre_force or none, got {self.slack!r}")
        for name in ("pre_force_n", "slope_window_mm"):
            if not 0 < getattr(self, name) < np.inf:
                raise ValueError(f"{name} must be greater than 0, got {getattr(self, name)}")
        for name in ("break_drop_pct", "slip_drop_pct"):
            if not 0 < getattr(self, name) < 100:
                raise ValueError(f"{name} must be between 0 and 100, got {getattr(self, name)}")
        if self.minimum_points < WINDOW_POINTS:
            raise ValueError(f"minimum_points must be at least {WINDOW_POINTS}, got {self.minimum_points}")
        if not 0 <= self.elongation_jitter_mm < np.inf:
            raise ValueError(f"elongation_jitter_mm must not be negative, got {self.elongation_jitter_mm}")


@dataclass(frozen=True)
class CurveResults:
    """Results of curves: arrays with one value per curve, in the order of the input.

    Elongations are measured from the end of the slack, forces from the force zero. Definitions of maximum force,
    elongation, energy and maximum slope: ISO 1924-3, clause 3. For curves that are not ``usable``, all values but
    ``n_points`` are NaN. The flags under "doubtful" question values that are given nevertheless.
    """

    n_points: IntArray
    max_force_n: FloatArray
    elongation_at_max_mm: FloatArray
    elongation_at_break_mm: FloatArray  # of the last point before the break; NaN if no break is recorded
    energy_to_max_j: FloatArray
    max_slope_n_mm: FloatArray
    max_slope_at_mm: FloatArray  # mean elongation of the window's points
    slack_removed_mm: FloatArray  # recorded elongation at which the piece is taut
    force_zero_n: FloatArray  # recorded force of the unloaded piece
    # The bend is the intersection of the tangent at the maximum slope and the line through the curve's last part;
    # NaN if the slope does not fall by half or the intersection is outside.
    bend_elongation_mm: FloatArray
    bend_force_n: FloatArray
    # not usable
    too_few_points: BoolArray  # or too little elongation up to the maximum for a slope
    non_finite: BoolArray
    non_monotone_elongation: BoolArray
    no_rise: BoolArray
    # doubtful
    saturated: BoolArray
    clamp_slip: BoolArray
    early_stop: BoolArray

    @property
    def usable(self) -> BoolArray:
        """Whether a curve could be reduced."""
        return ~(self.too_few_points | self.non_finite | self.non_monotone_elongation | self.no_rise)


def reduce_curves(
    elongation_mm: npt.ArrayLike,
    force_n: npt.ArrayLike,
    offsets: npt.ArrayLike,
    settings: CurveSettings | None = None,
) -> CurveResults:
    """Reduce n curves, whose points follow one curve after the other.

    elongation_mm, force_n: all points, shape (m,). offsets: shape (n + 1,), from 0 to m; curve i has the points
    from offsets[i] up to, but not including, offsets[i + 1].

    Raises ValueError for shapes or offsets that do not match. Invalid curves are flagged and never raise.
    """
    elongation = np.asarray(elongation_mm, dtype=np.float64)
    force = np.asarray(force_n, dtype=np.float64)
    given = np.asarray(offsets)
    if elongation.ndim != 1 or elongation.shape != force.shape:
        raise ValueError(
            f"elongation and force must have the same one-dimensional shape, got {elongation.shape}, {force.shape}"
        )
    if given.ndim != 1 or given.size == 0 or not np.issubdtype(given.dtype, np.integer):
        raise ValueError("offsets must be a one-dimensional array of integers with at least one element")
    starts = given.astype(np.int64)
    counts = np.diff(starts)
    if starts[0] != 0 or starts[-1] != elongation.size or (counts < 0).any():
        raise ValueError(f"offsets must rise from 0 to the number of points, {elongation.size}")

    settings = settings or CurveSettings()
    results = _empty_results(counts, settings.minimum_points)
    for rows in _blocks(counts, settings.minimum_points):
        columns = np.arange(counts[rows].max())
        points = starts[rows, None] + np.minimum(columns, counts[rows, None] - 1)
        block = _reduce_block(elongation[points], force[points], counts[rows], settings)
        for field in fields(CurveResults):
            getattr(results, field.name)[rows] = getattr(block, field.name)
    return results


def _empty_results(counts: IntArray, minimum_points: int) -> CurveResults:
    """Return the results of curves with too few points, to be overwritten for the others."""
    empty = {
        field.name: np.zeros(counts.size, dtype=bool)
        if field.type is BoolArray
        else np.full(counts.size, np.nan)
        for field in fields(CurveResults)
    }
    return CurveResults(**empty | {"n_points": counts.copy(), "too_few_points": counts < minimum_points})


def _blocks(counts: IntArray, minimum_points: int) -> Iterator[IntArray]:
    """Yield indices of the curves with enough points, in blocks whose lengths differ by less than a factor of 2."""
    order = np.argsort(counts, kind="stable")
    order = order[counts[order] >= minimum_points]
    batch = np.cumsum(counts[order]) // _BLOCK_POINTS
    octave = np.floor(np.log2(counts[order]))
    ends = np.flatnonzero((np.diff(batch) != 0) | (np.diff(octave) != 0)) + 1
    yield from (rows for rows in np.split(order, ends) if rows.size)


def _reduce_block(
    recorded_mm: FloatArray, recorded_n: FloatArray, counts: IntArray, settings: CurveSettings
) -> CurveResults:
    """Reduce the curves of one block: rows, shape (b, l), padded with their last point."""
    finite = np.asarray((np.isfinite(recorded_mm) & np.isfinite(recorded_n)).all(axis=1))
    first_mm = np.where(finite, recorded_mm[:, 0], 0.0)
    x = np.where(finite[:, None], recorded_mm, 0.0) - first_mm[:, None]
    f = np.where(finite[:, None], recorded_n, 0.0)
    forward = np.maximum.accumulate(x, axis=1)
    non_monotone = (forward - x).max(axis=1) > settings.elongation_jitter_mm
    x = forward
    peak = f.argmax(axis=1)
    noise_n = _noise(f, np.maximum(peak, WINDOW_POINTS))

    with np.errstate(divide="ignore", invalid="ignore"):
        sums = _PrefixSums(x, f)
        slopes, stops = _sliding_slopes(sums, x, peak, settings.slope_window_mm)
        steepest = slopes.argmax(axis=1)
        slope = _at(slopes, steepest)
        no_rise = _at(f, peak) - f[:, 0] <= NOISE_LIMIT * noise_n

        zero_n = np.zeros(peak.size)
        if settings.remove_force_zero:
            lead = (slopes > LEAD_SLOPE * slope[:, None]).argmax(axis=1)
            zero_n = np.where(lead > 0, sums.lines(np.zeros_like(lead), lead).mean_n, 0.0)
        f = f - zero_n[:, None]
        max_n, max_mm = _at(f, peak), _at(x, peak)
        tangent = sums.lines(steepest, _at(stops, steepest))

        if settings.slack == "tangent":
            taut_mm = tangent.mean_mm - (tangent.mean_n - zero_n) / slope
        elif settings.slack == "pre_force":
            taut_mm = _crossing_mm(x, f, peak, settings.pre_force_n)
            no_rise |= max_n < settings.pre_force_n
        else:
            taut_mm = -first_mm
        no_rise |= max_n <= 0

        energy_j = _energy_n_mm(x, f, peak, taut_mm, settings.slack == "tangent") / 1000
        bend_mm, bend_n = _intersection_with_tail(sums, x, peak, taut_mm, tangent)

        columns = np.arange(x.shape[1])
        after_peak = columns > peak[:, None]
        broken = after_peak & (f <= (1 - settings.break_drop_pct / 100) * max_n[:, None])
        breaks = broken.any(axis=1)
        break_mm = np.where(breaks, _at(x, np.maximum(broken.argmax(axis=1) - 1, 0)), np.nan)

        drop_n = np.where(after_peak, 0.0, np.maximum.accumulate(f, axis=1) - f).max(axis=1)
        slip = drop_n > np.maximum(settings.slip_drop_pct / 100 * max_n, NOISE_LIMIT * noise_n)
        flat = (f == max_n[:, None]) & (columns < counts[:, None])
        saturated = _saturated(sums, x, max_n, peak, flat, settings.slope_window_mm)

    non_monotone &= finite
    no_rise &= finite & ~non_monotone
    usable = finite & ~non_monotone & ~no_rise
    too_few = usable & ((peak + 1 < settings.minimum_points) | ~(slope > 0))
    usable &= ~too_few

    def where_usable(values: FloatArray) -> FloatArray:
        return np.where(usable, values, np.nan)

    return CurveResults(
        n_points=counts,
        max_force_n=where_usable(max_n),
        elongation_at_max_mm=where_usable(max_mm - taut_mm),
        elongation_at_break_mm=where_usable(break_mm - taut_mm),
        energy_to_max_j=where_usable(energy_j),
        max_slope_n_mm=where_usable(slope),
        max_slope_at_mm=where_usable(tangent.mean_mm - taut_mm),
        slack_removed_mm=where_usable(taut_mm + first_mm),
        force_zero_n=where_usable(zero_n),
        bend_elongation_mm=where_usable(bend_mm - taut_mm),
        bend_force_n=where_usable(bend_n - zero_n),
        too_few_points=too_few,
        non_finite=~finite,
        non_monotone_elongation=non_monotone,
        no_rise=no_rise,
        saturated=saturated & usable,
        clamp_slip=slip & usable,
        early_stop=~breaks & usable,
    )


class _Line(NamedTuple):
    """Least-squares lines: mean elongation, mean force and slope."""

    mean_mm: FloatArray
    mean_n: FloatArray
    slope: FloatArray


class _PrefixSums:
    """Prefix sums of each row, which give the least-squares line through any range of points directly.

    The data are centred at half the maximum first. The sums of squares then stay small compared with the
    contribution of a window, so their differences keep enough digits.
    """

    def __init__(self, x: FloatArray, f: FloatArray) -> None:
        self._centre_mm = x[:, -1:] / 2
        self._centre_n = f.max(axis=1, keepdims=True) / 2
        x, f = x - self._centre_mm, f - self._centre_n
        self._sums = [self._running(terms) for terms in (x, f, x * x, x * f)]

    @staticmethod
    def _running(terms: FloatArray) -> FloatArray:
        sums = np.zeros((terms.shape[0], terms.shape[1] + 1))
        np.cumsum(terms, axis=1, out=sums[:, 1:])
        return sums

    def lines(self, start: IntArray, stop: IntArray) -> _Line:
        """Return the lines through the points from start up to, but not including, stop of each row.

        ``start``, ``stop`` and the results have shape (b,) or (b, k), for one or k ranges per row.
        """
        n = (stop - start).astype(np.float64)
        per_row = (-1,) + (1,) * (start.ndim - 1)
        row = np.arange(start.shape[0]).reshape(per_row) * self._sums[0].shape[1]
        start, stop = start + row, stop + row
        x, f, xx, xf = (sums.take(stop) - sums.take(start) for sums in self._sums)
        slope = (n * xf - x * f) / (n * xx - x * x)
        mean_mm, mean_n = x / n + self._centre_mm.reshape(per_row), f / n + self._centre_n.reshape(per_row)
        return _Line(mean_mm, mean_n, slope)


def _sliding_slopes(
    sums: _PrefixSums, x: FloatArray, peak: IntArray, window_mm: float
) -> tuple[FloatArray, IntArray]:
    """Return the slope of the window that begins at each point, and the index after its last point.

    A window spans ``window_mm``, or WINDOW_POINTS points if those span more. The slope is minus infinity where the
    window does not end before the maximum, or its points span less than half of its length.
    """
    starts = np.broadcast_to(np.arange(x.shape[1]), x.shape)
    counts = _count_up_to(x, x + window_mm * (1 + 1e-9))
    stops = np.minimum(np.maximum(counts, starts + WINDOW_POINTS), peak[:, None] + 1)
    fits = (stops - starts >= WINDOW_POINTS) & (x + window_mm * (1 - 1e-9) <= _at(x, peak)[:, None])
    fits &= np.take_along_axis(x, stops - 1, axis=1) - x >= window_mm / 2
    return np.where(fits, sums.lines(starts, stops).slope, -np.inf), stops


def _count_up_to(x: FloatArray, limits: FloatArray) -> IntArray:
    """Return how many points of the same row are at or below each limit; rows ascend from zero.

    One search serves all rows: an offset puts each row above the one before.
    """
    stride = limits.max() + 1.0
    shift = stride * np.arange(x.shape[0])[:, None]
    found = np.searchsorted((x + shift).ravel(), (limits + shift).ravel(), side="right")
    return np.asarray(found.reshape(limits.shape) - x.shape[1] * np.arange(x.shape[0])[:, None])


def _noise(f: FloatArray, upto: IntArray) -> FloatArray:
    """Return the standard deviation of the force noise, from the points up to an index of each row.

    The mean absolute second difference of normal noise is sqrt(6) sqrt(2/pi) standard deviations; the curve itself
    and single jumps hardly affect it. Follows from the normal distribution.
    """
    second = np.abs(np.diff(f, n=2, axis=1))
    counted = np.arange(second.shape[1]) < upto[:, None] - 1
    mean = np.where(counted, second, 0.0).sum(axis=1) / (upto - 1)
    return np.asarray(mean / (np.sqrt(6) * np.sqrt(2 / np.pi)))


def _crossing_mm(x: FloatArray, f: FloatArray, peak: IntArray, level_n: float) -> FloatArray:
    """Return the elongation at which the force last crosses a level before its maximum.

    A record that begins above the level gives its first point.
    """
    below = (f < level_n) & (np.arange(f.shape[1]) < peak[:, None])
    last = f.shape[1] - 1 - below[:, ::-1].argmax(axis=1)
    last = np.minimum(last, f.shape[1] - 2)
    x0, x1, f0, f1 = _at(x, last), _at(x, last + 1), _at(f, last), _at(f, last + 1)
    return np.where(below.any(axis=1), x0 + (x1 - x0) * (level_n - f0) / (f1 - f0), 0.0)


def _energy_n_mm(
    x: FloatArray, f: FloatArray, peak: IntArray, taut_mm: FloatArray, add_tip: bool
) -> FloatArray:
    """Return the area, N mm, under each curve from the end of the slack to the maximum, by the trapezoidal rule.

    With ``add_tip``, it includes the triangle under the tangent before the first point, for records that begin with
    the piece under load.
    """
    areas = np.zeros_like(x)
    np.cumsum(np.diff(x, axis=1) * (f[:, 1:] + f[:, :-1]) / 2, axis=1, out=areas[:, 1:])
    begin_mm = np.maximum(taut_mm, 0.0)
    before = np.clip((x <= begin_mm[:, None]).sum(axis=1) - 1, 0, np.maximum(peak - 1, 0))
    x0, x1, f0, f1 = _at(x, before), _at(x, before + 1), _at(f, before), _at(f, before + 1)
    begin_n = f0 + (f1 - f0) * (begin_mm - x0) / (x1 - x0)
    skipped = _at(areas, before) + (begin_mm - x0) * (f0 + begin_n) / 2
    tip = np.maximum(-taut_mm, 0.0) * f[:, 0] / 2 if add_tip else 0.0
    return _at(areas, peak) - skipped + tip


def _intersection_with_tail(
    sums: _PrefixSums, x: FloatArray, peak: IntArray, taut_mm: FloatArray, tangent: _Line
) -> tuple[FloatArray, FloatArray]:
    """Return the elongation and force of the bend: the tangent's intersection with the line of the last part."""
    max_mm = _at(x, peak)
    tail_mm = max_mm - BEND_TAIL * (max_mm - taut_mm)
    start = np.minimum((x < tail_mm[:, None]).sum(axis=1), peak)
    tail = sums.lines(start, peak + 1)
    offset_n = (tail.mean_n - tail.slope * tail.mean_mm) - (tangent.mean_n - tangent.slope * tangent.mean_mm)
    bend_mm = offset_n / (tangent.slope - tail.slope)
    valid = (peak + 1 - start >= WINDOW_POINTS) & (tail.slope < BEND_SLOPE * tangent.slope)
    valid &= (bend_mm > tangent.mean_mm) & (bend_mm < tail_mm)
    bend_mm = np.where(valid, bend_mm, np.nan)
    return bend_mm, tangent.mean_n + tangent.slope * (bend_mm - tangent.mean_mm)


def _saturated(
    sums: _PrefixSums, x: FloatArray, max_n: FloatArray, peak: IntArray, flat: BoolArray, window_mm: float
) -> BoolArray:
    """Return whether the force is clipped at its maximum; ``flat`` is a mask of the points at the maximum."""
    last = x.shape[1] - 1 - flat[:, ::-1].argmax(axis=1)
    at_maximum = flat.sum(axis=1)
    start = np.minimum((x < (_at(x, peak) - window_mm)[:, None]).sum(axis=1), peak)
    slope = sums.lines(start, peak + 1).slope
    missed_n = slope * (_at(x, last) - _at(x, peak))
    dense = at_maximum > (last - peak + 1) / 2
    return np.asarray((at_maximum >= SATURATED_POINTS) & dense & (missed_n > SATURATED_RISE * max_n))


def _at(rows: npt.NDArray[Scalar], index: IntArray) -> npt.NDArray[Scalar]:
    """Return one element of each row."""
    return rows[np.arange(rows.shape[0]), index]
