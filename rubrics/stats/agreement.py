"""How far two readers of the same pieces agree, each figure with its interval and its count."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

FEWEST_PAIRS = 10
"""Under so many pairs kappa's interval spans most of its range: nothing is told (our choice)."""

COVERAGE = 0.95
RESAMPLES = 2000
SEED = 1968
"""Of the resampling, so that the same marks give the same interval; the year of the weighted
kappa."""


class AgreementError(ValueError):
    """The figures cannot tell agreement; the message says why."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """One figure of agreement with its interval and the number of pairs or targets."""

    value: float
    low: float
    high: float
    count: int


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of agreement: the mean difference, and where 95 % of differences are expected."""

    mean: float
    sd: float
    low: float
    high: float
    u_limit: float
    """Standard error of either limit."""
    count: int


def weighted_kappa(first, second, *, levels: int = 4) -> Agreement:
    """Quadratic weighted kappa of two readers' levels.

    Parameters
    ----------
    first, second : array_like of int, shape (n,), 1 .. levels
    levels : int

    Returns
    -------
    Agreement
        The interval covers 95 % by resampling the pairs (percentiles, seeded).

    Raises
    ------
    AgreementError
        Lengths differ, nothing to compare, a level out of range, or both gave one and the same
        level everywhere, where chance alone explains all.

    References
    ----------
    .. [1] J. Cohen, Weighted kappa, Psychological Bulletin 70 (1968) 213-220.
    """
    a, b = _pairs(first, second)
    if not (np.isin(a, range(1, levels + 1)).all() and np.isin(b, range(1, levels + 1)).all()):
        raise AgreementError(f"A level is not one of 1 to {levels}.")
    value = _kappa(a, b)
    if math.isnan(value):
        raise AgreementError("Both gave one and the same level everywhere.")
    draws = np.random.default_rng(SEED).integers(0, len(a), (RESAMPLES, len(a)))
    resampled = np.array([_kappa(a[draw], b[draw]) for draw in draws])
    tail = (1 - COVERAGE) / 2
    low, high = np.nanquantile(resampled, (tail, 1 - tail))
    return Agreement(value, float(low), float(high), len(a))


def _kappa(a: np.ndarray, b: np.ndarray) -> float:
    """1 - observed / expected squared difference; the expected one from the two margins."""
    observed = float(np.mean((a - b) ** 2))
    expected = float(np.var(a) + np.var(b) + (np.mean(a) - np.mean(b)) ** 2)
    return 1.0 - observed / expected if expected > 0 else math.nan


def icc_2_1(scores, *, coverage: float = COVERAGE) -> Agreement:
    """Intraclass correlation ICC(2,1): two-way random, single reader, absolute agreement.

    Parameters
    ----------
    scores : array_like, shape (targets, readers), both >= 2

    Returns
    -------
    Agreement
        With the interval of Shrout and Fleiss.

    Raises
    ------
    AgreementError
        Too few, a value not finite, or no spread at all.

    References
    ----------
    .. [1] P. E. Shrout, J. L. Fleiss, Intraclass correlations, Psychological Bulletin 86 (1979)
       420-428.
    """
    x = np.asarray(scores, dtype=float)
    if x.ndim != 2 or min(x.shape) < 2 or not np.isfinite(x).all():
        raise AgreementError("Two pieces and two readers at least, each with a figure.")
    n, k = x.shape
    whole = x.mean()
    rows = k * np.sum((x.mean(axis=1) - whole) ** 2) / (n - 1)
    columns = n * np.sum((x.mean(axis=0) - whole) ** 2) / (k - 1)
    rest = x - x.mean(axis=1, keepdims=True) - x.mean(axis=0, keepdims=True) + whole
    error = np.sum(rest**2) / ((n - 1) * (k - 1))
    below = rows + (k - 1) * error + k * (columns - error) / n
    if below == 0:
        raise AgreementError("All figures are the same: agreement cannot be told.")
    value = (rows - error) / below
    low, high = _icc_interval(value, (rows, columns, error), (n, k), coverage)
    return Agreement(float(value), low, high, n)


def _icc_interval(value, mean_squares, shape, coverage) -> tuple[float, float]:
    """Shrout and Fleiss (1979), p. 424: F quantiles with Satterthwaite's degrees of freedom."""
    rows, columns, error = mean_squares
    n, k = shape
    if error == 0:
        return float(value), float(value)
    ratio = columns / error
    up = k * value * ratio + n * (1 + (k - 1) * value) - k * value
    freedom = (
        (k - 1) * (n - 1) * up**2
        / ((n - 1) * k**2 * value**2 * ratio**2
           + (n * (1 + (k - 1) * value) - k * value) ** 2)
    )  # fmt: skip
    tail = 0.5 + coverage / 2
    f_low, f_high = f_quantile(tail, n - 1, freedom), f_quantile(tail, freedom, n - 1)
    mixed = k * columns + (k * n - k - n) * error
    low = n * (rows - f_low * error) / (f_low * mixed + n * rows)
    high = n * (f_high * rows - error) / (mixed + n * f_high * rows)
    return float(low), float(high)


def limits_of_agreement(first, second) -> Limits:
    """Mean difference (first - second) and its limits, mean -+ 1.96 SD.

    References
    ----------
    .. [1] J. M. Bland, D. G. Altman, Statistical methods for assessing agreement, Lancet i (1986)
       307-310. The paper prints 2 SD; here it is 1.96.
    """
    a, b = _pairs(first, second)
    if len(a) < 2:
        raise AgreementError("Two pieces at least, each read by both.")
    differences = a - b
    mean, sd = float(differences.mean()), float(differences.std(ddof=1))
    reach = NormalDist().inv_cdf(0.5 + COVERAGE / 2) * sd
    u_limit = math.sqrt(3 * sd**2 / len(a))
    return Limits(mean, sd, mean - reach, mean + reach, u_limit, len(a))


def _pairs(first, second) -> tuple[np.ndarray, np.ndarray]:
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if a.shape != b.shape or a.ndim != 1 or len(a) == 0:
        raise AgreementError("There is nothing that both read.")
    if not (np.isfinite(a).all() and np.isfinite(b).all()):
        raise AgreementError("A figure is missing or is no number.")
    return a, b


def f_quantile(p: float, d1: float, d2: float) -> float:
    """Quantile of the F distribution, by halving on the regularised incomplete beta function."""
    low, high = 0.0, 1.0
    for _ in range(200):
        middle = (low + high) / 2
        if _beta(d1 / 2, d2 / 2, middle) < p:
            low = middle
        else:
            high = middle
    share = (low + high) / 2
    return d2 * share / (d1 * (1 - share))


def _beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function, by its continued fraction (DLMF 8.17.22)."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _beta(b, a, 1 - x)
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
        + a * math.log(x) + b * math.log1p(-x)
    ) / a  # fmt: skip
    # From the far end of the fraction: 200 terms are far beyond what a double can tell.
    value = 1.0
    for m in range(200, 0, -1):
        half, odd = divmod(m, 2)
        term = (
            -(a + half) * (a + b + half) * x / ((a + 2 * half) * (a + 2 * half + 1))
            if odd
            else half * (b - half) * x / ((a + 2 * half - 1) * (a + 2 * half))
        )
        value = 1.0 + term / value
    return front / value
