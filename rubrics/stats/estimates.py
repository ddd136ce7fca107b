"""A figure with its interval, and intervals that come of leaving out one piece at a time.

The unit is a piece (or a student): its marks hang together, for a reader who takes to a piece is
kind to all of it. An interval that takes every mark for a witness of its own is too narrow, so
whatever a piece carries is left out with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .distributions import t_quantile

COVERAGE = 0.95
"""Of every interval, two-sided."""

FEWEST_PIECES = 15
"""Fewer pieces carry no interval on agreement: simulated intervals hold their 95 % from here on."""

FEWEST_FREEDOM = 2.0
SMALLEST_SHARE = 1e-9
"""Floors where one piece alone carries the whole variance: the interval is then very wide."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure, the ends of its interval, and the number of pieces (or students) it stands on."""

    value: float
    low: float
    high: float
    count: int


def left_out_error(left_out: np.ndarray) -> float:
    """Standard error of a figure from its values with one piece at a time left out, shape (n,).

    References
    ----------
    .. [1] J. W. Tukey, Bias and confidence in not-quite large samples, Annals of Mathematical
       Statistics 29 (1958) 614.
    """
    n = len(left_out)
    return math.sqrt((n - 1) / n * float(np.sum((left_out - left_out.mean()) ** 2)))


def log_variance_left_out(left_out: np.ndarray) -> np.ndarray:
    """Logarithm of the variance of n figures, with one of them at a time left out, shape (n,)."""
    n = len(left_out)
    squares = (left_out - left_out.mean()) ** 2
    whole = float(squares.sum())
    rest = (whole - n / (n - 1) * squares) / (n - 2)
    return np.log(np.maximum(rest, SMALLEST_SHARE * whole / n))


def freedom(left_out: np.ndarray) -> float:
    """Degrees of freedom that the variance of these figures has, at most n - 1.

    A variance with f degrees of freedom has var(ln s2) = 2/f about. Where few pieces carry the
    variance, f is small and the interval is wider: with n - 1 instead, intervals on kappa of a
    class that stands nearly all at one level cover 88 to 92 % in place of 95.
    """
    if not np.ptp(left_out) > 0:
        return len(left_out) - 1.0
    spread = left_out_error(log_variance_left_out(left_out)) ** 2
    return min(len(left_out) - 1.0, max(2 / spread, FEWEST_FREEDOM) if spread > 0 else math.inf)


def correlation(value: float, left_out: np.ndarray, coverage: float = COVERAGE) -> Estimate:
    """Interval of a figure of agreement between -1 and 1, made on Fisher's scale artanh(value).

    Parameters
    ----------
    value : float
        Strictly between -1 and 1.
    left_out : ndarray, shape (n,)
        The figure with one piece at a time left out.
    """
    error = left_out_error(left_out) / (1 - value * value)
    reach = t_quantile(0.5 + coverage / 2, freedom(left_out)) * error
    middle = math.atanh(value)
    return Estimate(value, math.tanh(middle - reach), math.tanh(middle + reach), len(left_out))


def mean(values: np.ndarray, coverage: float = COVERAGE) -> Estimate:
    """Mean with Student's interval; two values at least."""
    n, middle = len(values), float(np.mean(values))
    reach = t_quantile(0.5 + coverage / 2, n - 1) * float(np.std(values, ddof=1)) / math.sqrt(n)
    return Estimate(middle, middle - reach, middle + reach, n)
