"""The few fits and rules of propagation that the checks share."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from .levels import COVERAGE_FACTOR

RANK_TOLERANCE = 1e-9
"""A direction of a design whose singular value is below this share of the largest is not told."""


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """The layout of the stations, ready to fit any values read at them.

    A class measures every piece at the same stations, so what depends on the stations alone is
    worked out once.

    Attributes
    ----------
    solve_and_leave : ndarray, shape (p + n, n)
        The pseudo-inverse of the model's columns over I − columns @ pseudo-inverse: one product
        with the values gives the coefficients and, after them, the residuals.
    covariance : list of list of float, shape (p, p)
        Covariance of the coefficients for values of unit variance.
    leave : list of list of float, shape (n, n)
        Covariance of the residuals for values of unit variance.
    full_rank : bool
        Whether every term can be told from the others.
    condition : float
        Ratio of the largest to the smallest singular value of ``columns``.
    """

    solve_and_leave: np.ndarray
    covariance: list[list[float]]
    leave: list[list[float]]
    full_rank: bool
    condition: float

    @property
    def degrees_of_freedom(self) -> int:
        return len(self.leave) - len(self.covariance)

    def fit(self, values: Sequence[float]) -> tuple[list[float], list[float]]:
        """Return the coefficients and the residuals of the values read at the stations."""
        both = (self.solve_and_leave @ np.asarray(values)).tolist()
        p = len(self.covariance)
        return both[:p], both[p:]


def design(columns: np.ndarray) -> Design:
    """Prepare the least-squares fit of a linear model.

    Parameters
    ----------
    columns : array_like, shape (n, p)
        One row a station, one column a term.
    """
    columns = np.asarray(columns, dtype=float)
    singular = np.linalg.svd(columns, compute_uv=False)
    n, p = columns.shape
    full_rank = bool(n >= p and singular[-1] > RANK_TOLERANCE * singular[0])
    solve = np.linalg.pinv(columns)
    leave = np.eye(n) - columns @ solve
    return Design(
        solve_and_leave=np.vstack([solve, leave]),
        covariance=(solve @ solve.T).tolist(),
        leave=leave.tolist(),
        full_rank=full_rank,
        condition=float(singular[0] / singular[-1]) if full_rank else math.inf,
    )


def fit_sigma(residuals: Sequence[float], degrees_of_freedom: int, u: float) -> float:
    """Standard deviation to give to a fitted value: from the fit or from u, the larger.

    A fit can look better than its readings by luck; it never is.
    """
    if degrees_of_freedom < 1:
        return u
    return max(u, math.hypot(*residuals) / math.sqrt(degrees_of_freedom))


def mean_and_sd(values: Sequence[float]) -> tuple[float, float]:
    """Mean and sample standard deviation (n − 1), by exact summation in two passes.

    One value has a standard deviation of 0.
    """
    n = len(values)
    mean = math.fsum(values) / n
    if n == 1:
        return mean, 0.0
    return mean, math.hypot(*[v - mean for v in values]) / math.sqrt(n - 1)


@lru_cache(maxsize=256)
def expected_range(n: int) -> float:
    """Expected range of n independent normal values of unit standard deviation, d2.

    The integral of 1 − Φ(x)ⁿ − (1 − Φ(x))ⁿ over all x.

    References
    ----------
    .. [1] L. H. C. Tippett, Biometrika 17 (1925) 364-387 (from memory).
    .. [2] Control chart constants, as tabled in ISO 7870-2 and ASTM E2587 (from memory).
    """
    x = np.linspace(-_RANGE_REACH, _RANGE_REACH, _RANGE_STEPS)
    below = np.array([NormalDist().cdf(each) for each in x])
    return float(np.trapezoid(1 - below**n - (1 - below) ** n, x))


_RANGE_REACH, _RANGE_STEPS = 9.0, 3601
"""Beyond nine standard deviations nothing is left; the step makes d2 good to five figures."""


def one_sided(excess: float, u: float) -> tuple[float, float]:
    """By how much a bound is passed, never less than nothing, and its standard uncertainty.

    Where the bound is not reached the figure is 0, and its u such that 0 + 2u is the most that
    it may have been passed by: what lies well on the right side is in no doubt at all.
    """
    if excess >= 0:
        return excess, u
    return 0.0, max(0.0, u + excess / COVERAGE_FACTOR)


def weighted_mean(values: Sequence[float], us: Sequence[float]) -> tuple[float, float, float]:
    """Inverse-variance weighted mean.

    Returns
    -------
    mean, u, chi_squared : float
        The mean, its standard uncertainty by the given ones, and Σ((value − mean)/u)².
    """
    weights = [1 / (u * u) for u in us]
    total = math.fsum(weights)
    mean = math.fsum([w * v for w, v in zip(weights, values, strict=True)]) / total
    chi_squared = math.fsum([w * (v - mean) ** 2 for w, v in zip(weights, values, strict=True)])
    return mean, 1 / math.sqrt(total), chi_squared


def chi_squared_tail(chi_squared: float, degrees_of_freedom: int) -> float:
    """Probability that chance alone gives a chi-squared as large or larger.

    The regularised upper incomplete gamma function Q(k/2, x/2) for whole k, by its recurrence
    from Q(1/2, y) = erfc(√y) or Q(1, y) = exp(−y).

    References
    ----------
    .. [1] NIST Digital Library of Mathematical Functions, 8.4.6, 8.4.8 and 8.8.6.
    """
    y = max(chi_squared, 0.0) / 2
    if y == 0:
        return 1.0
    odd = degrees_of_freedom % 2
    a = 0.5 if odd else 1.0
    tail = math.erfc(math.sqrt(y)) if odd else math.exp(-y)
    while a < degrees_of_freedom / 2:
        tail += math.exp(a * math.log(y) - y - math.lgamma(a + 1))
        a += 1
    return min(tail, 1.0)


def propagate(
    function: Callable[..., float], values: Sequence[float], us: Sequence[float]
) -> tuple[float, float]:
    """Value of a function and its standard uncertainty, for inputs that are independent.

    The sensitivities are taken as half the change of the function over ± one u.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.3, note 2.
    """
    at = list(values)
    variance = 0.0
    for i, u in enumerate(us):
        if u == 0:
            continue
        value = at[i]
        at[i] = value + u
        above = function(*at)
        at[i] = value - u
        half = (above - function(*at)) / 2
        variance += half * half
        at[i] = value
    return function(*values), math.sqrt(variance)
