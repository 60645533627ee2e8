"""Probabilities of Student's t and of F for arrays, which is all that is needed here of a library of statistics.

Both are values of the incomplete beta function. A library would be a fifth of an installation; tests compare these
functions with one.
"""

import math

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

_BISECTIONS = 60
_log_gamma = np.vectorize(math.lgamma, otypes=[np.float64])


def t_two_sided_p(t: npt.ArrayLike, degrees_of_freedom: npt.ArrayLike) -> FloatArray:
    """Return the probability of a t at least as far from zero.

    Source: NIST Digital Library of Mathematical Functions, 8.17(i); Abramowitz and Stegun, 26.7.1; from memory.
    """
    df = np.asarray(degrees_of_freedom, np.float64)
    return incomplete_beta(df / 2, 0.5, df / (df + np.square(t)))


def t_quantile(confidence: float, degrees_of_freedom: npt.ArrayLike) -> FloatArray:
    """Return the t that is exceeded in size with the probability 1 - confidence, by bisection."""
    df, place = np.unique(degrees_of_freedom, return_inverse=True)
    low, high = np.zeros(df.shape), np.ones(df.shape)  # of t² / (df + t²)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        beyond = incomplete_beta(0.5, df / 2, middle) > confidence
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return np.asarray(np.sqrt(df * low / (1 - low))[place])


def f_upper_p(f: npt.ArrayLike, df_numerator: npt.ArrayLike, df_denominator: npt.ArrayLike) -> FloatArray:
    """Return the probability of an F at least as large.

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.6.2; from memory.
    """
    upper, lower = np.asarray(df_numerator, np.float64), np.asarray(df_denominator, np.float64)
    return incomplete_beta(lower / 2, upper / 2, lower / (lower + upper * np.asarray(f)))


def incomplete_beta(a: npt.ArrayLike, b: npt.ArrayLike, x: npt.ArrayLike) -> FloatArray:
    """Return the regularized incomplete beta function I_x(a, b), for a and b above 0 and x from 0 to 1.

    Source: NIST Digital Library of Mathematical Functions, 8.17.4 and the continued fraction 8.17.22; from memory.
    """
    a, b, x = np.broadcast_arrays(*(np.asarray(values, np.float64) for values in (a, b, x)))
    mirrored = x > (a + 1) / (a + b + 2)  # where the fraction converges slowly
    a, b, x = np.where(mirrored, b, a), np.where(mirrored, a, b), np.where(mirrored, 1 - x, x)
    with np.errstate(divide="ignore"):
        logarithm = a * np.log(x) + b * np.log1p(-x) + _log_gamma(a + b) - _log_gamma(a) - _log_gamma(b)
    value: FloatArray = np.exp(logarithm) / (a * _continued_fraction(a, b, x))
    return np.where(mirrored, 1 - value, value)


def _continued_fraction(a: FloatArray, b: FloatArray, x: FloatArray) -> FloatArray:
    """Return 1 + d1 / (1 + d2 / (1 + ...)) of 8.17.22, by the modified Lentz method."""
    value, numerator, denominator = np.ones_like(x), np.ones_like(x), np.zeros_like(x)
    m, changed = 0, True
    while changed:
        changed = False
        for d in (
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
            (m + 1) * (b - m - 1) * x / ((a + 2 * m + 1) * (a + 2 * m + 2)),
        ):
            denominator = 1 / (1 + d * denominator)
            numerator = 1 + d / numerator
            value = value * numerator * denominator
            changed = changed or bool(np.any(np.abs(numerator * denominator - 1) > 1e-14))
        m += 1
    return value
