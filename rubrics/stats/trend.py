"""Whether figures rise or fall from project to project, told no sooner than it can be told."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np

RISING, STEADY, FALLING, TOO_EARLY = "rising", "steady", "falling", "too early to tell"

FEWEST_POINTS = 4
"""With three points even a perfect rise has a chance of 1 in 6: no trend is claimed."""

CHANCE = 0.05
"""A direction is claimed where chance alone gives it in 1 of 20 cases at most, one-sided."""

INTERVAL = 0.90
"""Two-sided coverage of the slope's interval: the same 1 in 20 on either side."""

EXACT_UP_TO = 10
"""So many points have their exact chance counted; more have it from the normal curve."""


class TrendError(ValueError):
    """The figures cannot carry a slope; the message says why."""


@dataclass(frozen=True, slots=True)
class Slope:
    """A Theil-Sen line: ``slope`` per step of x, ``intercept``, and all pairwise ``slopes``."""

    slope: float
    intercept: float
    slopes: tuple[float, ...]
    deviation: float
    """Standard deviation of Kendall's S, ties taken into account."""

    def interval(self, coverage: float = INTERVAL) -> tuple[float, float]:
        """The slope's interval by Sen's rule: the slopes as many places from either end as
        Kendall's S may stray."""
        count = len(self.slopes)
        reach = NormalDist().inv_cdf(0.5 + coverage / 2) * self.deviation
        low = max(round((count - reach) / 2) - 1, 0)
        high = min(round((count + reach) / 2), count - 1)
        return self.slopes[low], self.slopes[high]


@dataclass(frozen=True, slots=True)
class Trend:
    """A word on the trend and what it stands on; no slope under four points."""

    word: str
    count: int
    slope: float | None = None
    low: float | None = None
    high: float | None = None


def theil_sen(x, y) -> Slope:
    """Fit the median of all pairwise slopes.

    Parameters
    ----------
    x, y : array_like, shape (n,), n >= 2
        Points; two of one x give no slope between them.

    Returns
    -------
    Slope
        The intercept is median(y) - slope * median(x).

    Raises
    ------
    TrendError
        Lengths differ, a value is not finite, or all x are the same.

    References
    ----------
    .. [1] P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, Journal of
       the American Statistical Association 63 (1968) 1379-1389.
    """
    x, y = _points(x, y)
    first, second = np.triu_indices(len(x), k=1)
    run = x[second] - x[first]
    apart = run != 0
    if not apart.any():
        raise TrendError("All figures belong to one and the same project.")
    slopes = np.sort((y[second] - y[first])[apart] / run[apart])
    slope = float(np.median(slopes))
    return Slope(
        slope=slope,
        intercept=float(np.median(y) - slope * np.median(x)),
        slopes=tuple(map(float, slopes)),
        deviation=math.sqrt(_variance(len(x), _ties(x), _ties(y))),
    )


def kendall_s(x, y) -> int:
    """Pairs that rise less pairs that fall (Mann-Kendall's S when x is time)."""
    x, y = _points(x, y)
    first, second = np.triu_indices(len(x), k=1)
    return int(np.sum(np.sign(y[second] - y[first]) * np.sign(x[second] - x[first])))


def chance_of(s: int, n: int) -> float:
    """Chance that n figures in random order, none alike, have an S of at least ``s``.

    Exact, by counting orders; for n up to :data:`EXACT_UP_TO`.

    References
    ----------
    .. [1] R. O. Gilbert, Statistical Methods for Environmental Pollution Monitoring (1987), ch. 16.
    """
    orders = _orders(n)
    pairs = n * (n - 1) // 2
    # An order with k falling pairs has S = pairs - 2 k.
    least = sum(count for falling, count in enumerate(orders) if pairs - 2 * falling >= s)
    return least / math.factorial(n)


def trend(x, y) -> Trend:
    """Say whether y rises or falls with x, if that can be told.

    Parameters
    ----------
    x, y : array_like, shape (n,)
        The number of the project, and its figure.

    Returns
    -------
    Trend
        ``too early to tell`` under four points; ``steady`` where no direction stands out of what
        chance would do.
    """
    count = len(x)
    if count < FEWEST_POINTS:
        return Trend(TOO_EARLY, count)
    fitted = theil_sen(x, y)
    low, high = fitted.interval()
    s = kendall_s(x, y)
    word = STEADY
    if _chance(abs(s), fitted.deviation, count) <= CHANCE and fitted.slope != 0:
        word = RISING if s > 0 else FALLING
    return Trend(word, count, fitted.slope, low, high)


def _chance(s: int, deviation: float, count: int) -> float:
    if s == 0 or deviation == 0:
        return 1.0
    if count <= EXACT_UP_TO:
        return chance_of(s, count)
    return 1.0 - NormalDist().cdf((s - 1) / deviation)


def _points(x, y) -> tuple[np.ndarray, np.ndarray]:
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if x.shape != y.shape or x.ndim != 1 or len(x) < 2:
        raise TrendError("A trend needs two figures at least, each with its project.")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise TrendError("A figure is missing or is no number.")
    return x, y


def _ties(values: np.ndarray) -> np.ndarray:
    _, counts = np.unique(values, return_counts=True)
    return counts[counts > 1]


def _variance(n: int, *ties: np.ndarray) -> float:
    """Variance of Kendall's S, with its correction for values that are alike."""
    whole = n * (n - 1) * (2 * n + 5)
    alike = sum(float(np.sum(each * (each - 1) * (2 * each + 5))) for each in ties)
    return max(whole - alike, 0.0) / 18.0


@cache
def _orders(n: int) -> tuple[int, ...]:
    """How many of the orders of n things have 0, 1, 2 … falling pairs."""
    if n < 2:
        return (1,)
    smaller = _orders(n - 1)
    counts = [0] * (n * (n - 1) // 2 + 1)
    for falling, count in enumerate(smaller):
        for more in range(n):
            counts[falling + more] += count
    return tuple(counts)
