"""Least-squares parabolas, many at once: estimates, standard errors and the position of the minimum.

The parabolas use polynomials that are orthogonal over the fitted points (Forsythe 1957, J. Soc. Indust. Appl. Math.
5, 74-88; from memory). These need no normal equations, which would lose accuracy, and make the estimates
uncorrelated, so every standard error is a sum of squares.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

ROUNDING = 1e-12
"""Relative scatter that rounding in double precision may cause; a residual standard deviation is never smaller."""


@dataclass(frozen=True)
class Parabolas:
    """Fitted parabolas y = level + slope d + curvature q; every array has one element per parabola.

    d = x - center, where center is the mean of x; q = d² - tilt d - mean_d2. ``mean_d2`` and ``mean_q2`` are the
    means of d² and q² over the points; ``residual_s`` is the residual standard deviation.
    """

    n: IntArray
    center: FloatArray
    mean_d2: FloatArray
    tilt: FloatArray
    mean_q2: FloatArray
    level: FloatArray
    slope: FloatArray
    curvature: FloatArray
    residual_s: FloatArray

    @property
    def degrees_of_freedom(self) -> IntArray:
        """Return the degrees of freedom of residual_s."""
        return self.n - 3

    @property
    def slope_error(self) -> FloatArray:
        """Return the standard error of slope."""
        return self.residual_s / np.sqrt(self.n * self.mean_d2)

    @property
    def curvature_error(self) -> FloatArray:
        """Return the standard error of curvature."""
        return self.residual_s / np.sqrt(self.n * self.mean_q2)

    @property
    def coefficients(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the coefficients b0, b1 and b2 of y = b0 + b1 d + b2 d²."""
        return (
            self.level - self.curvature * self.mean_d2,
            self.slope - self.curvature * self.tilt,
            self.curvature,
        )

    def evaluate(self, d: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the mean response at distances ``d`` from the center, and its standard error.

        ``d`` has shape (n,) or (k, n) for n parabolas, and so have both results.
        """
        q = d**2 - self.tilt * d - self.mean_d2
        variance = self.residual_s**2 / self.n + (self.slope_error * d) ** 2 + (self.curvature_error * q) ** 2
        return self.level + self.slope * d + self.curvature * q, np.sqrt(variance)

    def minimum_at(self, quantile: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the position of each minimum, as distance from the center, and the ends of its interval.

        ``quantile`` is Student's t for the interval's confidence. At the minimum the derivative is zero, slope +
        curvature (2 d - tilt) = 0, so 2 d - tilt = -slope / curvature: a ratio of two uncorrelated estimates, with
        the interval of Fieller's theorem (Fieller 1954, J. Roy. Statist. Soc. B 16, 175-185; from memory). The
        interval is bounded only if the interval of the curvature excludes zero. Otherwise, and for a parabola that
        opens downwards, all three are NaN.
        """
        significant = self.curvature > quantile * self.curvature_error
        slope = np.where(significant, self.slope, np.nan)
        curvature = np.where(significant, self.curvature, np.nan)
        slope_width, curvature_width = quantile * self.slope_error, quantile * self.curvature_error
        scale = curvature**2 - curvature_width**2
        half = np.sqrt(slope_width**2 * scale + (slope * curvature_width) ** 2) / scale
        middle = -slope * curvature / scale
        position, low, high = (
            (ratio + self.tilt) / 2 for ratio in (-slope / curvature, middle - half, middle + half)
        )
        return position, low, high


def fit_parabolas(x: FloatArray, y: FloatArray, group: IntArray) -> tuple[Parabolas, FloatArray]:
    """Fit a parabola to each group of points by least squares; return the parabolas and the residuals.

    ``x``, ``y`` and ``group`` have one element per point; ``group`` numbers the parabolas from 0 without gaps.
    Raises ValueError unless each group has at least four points at three different x.
    """
    n = np.bincount(group)
    if np.any(n < 4):
        raise ValueError("a parabola with a residual scatter needs at least four points")

    def mean(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(group, weights=values) / n)

    center = mean(x)
    d = x - center[group]
    mean_d2 = mean(d**2)
    tilt = mean(d**3) / np.where(mean_d2 > 0, mean_d2, 1.0)
    q = d**2 - tilt[group] * d - mean_d2[group]
    mean_q2 = mean(q**2)
    if np.any(mean_q2 <= ROUNDING * mean(d**4)):
        raise ValueError("a parabola needs points at three different x")

    level = mean(y)
    residual = y - level[group]
    slope = mean(d * residual) / mean_d2
    residual = residual - slope[group] * d
    curvature = mean(q * residual) / mean_q2
    residual = residual - curvature[group] * q
    residual_s = np.sqrt(n * mean(residual**2) / (n - 3))
    rounding = ROUNDING * np.sqrt(mean(y**2))
    return Parabolas(
        n, center, mean_d2, tilt, mean_q2, level, slope, curvature, np.maximum(residual_s, rounding)
    ), residual
