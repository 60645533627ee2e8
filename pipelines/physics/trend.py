"""Trend of readings: the slope of a least-squares line and its p-value.

Source: simple linear regression with Student's t, as in every textbook of statistics; from memory.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from scipy import special


class Trend(NamedTuple):
    """The slope of a least-squares line, in units of y per unit of x, and its p-value.

    ``p`` is the probability of a slope at least as far from zero if y does not depend on x, with independent readings
    and normal scatter.
    """

    slope: float
    p: float


def trend(x: Sequence[float], y: Sequence[float]) -> Trend | None:
    """Return the trend of y over x, sequences of equal length; None for fewer than three values or a single x."""
    n = len(x)
    if n < 3:
        return None
    mean_x, mean_y = math.fsum(x) / n, math.fsum(y) / n
    dx, dy = [value - mean_x for value in x], [value - mean_y for value in y]
    sum_xx = math.fsum(value * value for value in dx)
    if sum_xx == 0:
        return None
    slope = math.fsum(one * other for one, other in zip(dx, dy, strict=True)) / sum_xx
    residual = math.fsum((other - slope * one) ** 2 for one, other in zip(dx, dy, strict=True))
    if residual == 0:
        return Trend(slope, 1.0 if slope == 0 else 0.0)
    t = slope / math.sqrt(residual / (n - 2) / sum_xx)
    return Trend(slope, 2 * float(special.stdtr(n - 2, -abs(t))))
