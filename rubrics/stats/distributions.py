"""Distribution functions and quantiles of Student, F, chi-squared and the binomial.

The numerical library that has them is for the tests only: these few are written out here and
compared with it there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

MOST_TERMS = 10_000
SMALLEST = 1e-300
SETTLED = 1e-15
"""A series or fraction ends where a further term changes the value by less than this share."""

MOST_STEPS = 200
"""At most so many steps towards a quantile; those that halve, a third, are enough for a double."""


def beta_cdf(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b), a and b > 0.

    References
    ----------
    .. [1] NIST Digital Library of Mathematical Functions, 8.17.22 (continued fraction).
    """
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - beta_cdf(1 - x, b, a)
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
        + a * math.log(x) + b * math.log1p(-x)
    ) / a  # fmt: skip

    def term(m: int) -> float:
        half, odd = divmod(m, 2)
        if odd:
            return -(a + half) * (a + b + half) * x / ((a + 2 * half) * (a + 2 * half + 1))
        return half * (b - half) * x / ((a + 2 * half - 1) * (a + 2 * half))

    # The fraction 1 + d1/(1 + d2/(1 + ...)) from its near end (Lentz's way).
    value = numerator = 1.0
    denominator = 0.0
    for m in range(1, MOST_TERMS):
        d = term(m)
        denominator = 1.0 / ((1.0 + d * denominator) or SMALLEST)
        numerator = (1.0 + d / numerator) or SMALLEST
        step = numerator * denominator
        value *= step
        if abs(step - 1) < SETTLED:
            break
    return front / value


def gamma_cdf(x: float, a: float) -> float:
    """Regularised lower incomplete gamma function P(a, x), a > 0 (DLMF 8.11.4, its series)."""
    if x <= 0:
        return 0.0
    term = total = 1.0 / a
    for k in range(1, MOST_TERMS):
        term *= x / (a + k)
        total += term
        if term < SETTLED * total:
            break
    return min(total * math.exp(a * math.log(x) - x - math.lgamma(a)), 1.0)


@lru_cache(maxsize=4096)
def f_quantile(p: float, d1: float, d2: float) -> float:
    """Quantile of F with ``d1`` and ``d2`` degrees of freedom, 0 < p < 1."""
    share = _where(lambda x: beta_cdf(x, d1 / 2, d2 / 2) - p, 0.0, 1.0)
    return math.inf if share >= 1 else d2 * share / (d1 * (1 - share))


def f_tail(value: float, d1: float, d2: float) -> float:
    """Chance that an F is at least ``value``."""
    return beta_cdf(d2 / (d2 + d1 * value), d2 / 2, d1 / 2) if value > 0 else 1.0


def t_quantile(p: float, freedom: float) -> float:
    """Quantile of Student's t, 0.5 <= p < 1."""
    return math.sqrt(f_quantile(2 * p - 1, 1, freedom)) if p > 0.5 else 0.0


def t_chance(value: float, freedom: float) -> float:
    """Chance that Student's t is as far from zero as ``value``, either way."""
    return f_tail(value * value, 1, freedom)


@lru_cache(maxsize=4096)
def chi2_quantile(p: float, freedom: float) -> float:
    """Quantile of chi-squared, 0 < p < 1."""
    high = freedom + 10.0
    while gamma_cdf(high / 2, freedom / 2) < p:
        high *= 2
    return _where(lambda x: gamma_cdf(x / 2, freedom / 2) - p, 0.0, high)


def binomial_tail(count: int, total: int, share: float) -> float:
    """Exact chance of ``count`` or more of ``total``, each with the chance ``share``."""
    return 1.0 if count <= 0 else beta_cdf(share, count, total - count + 1)


@lru_cache(maxsize=4096)
def binomial_interval(count: int, total: int, coverage: float = 0.95) -> tuple[float, float]:
    """Exact interval of a share: it covers at least as often as it says.

    References
    ----------
    .. [1] C. J. Clopper, E. S. Pearson, Biometrika 26 (1934) 404-413.
    """
    tail = (1 - coverage) / 2
    low = _where(lambda x: binomial_tail(count, total, x) - tail, 0.0, 1.0) if count else 0.0
    rest = total - count
    high = 1 - _where(lambda x: binomial_tail(rest, total, x) - tail, 0.0, 1.0) if rest else 1.0
    return low, high


def _where(above: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function is zero, between low and high.

    By false position, an end that stays halved in height (the Illinois rule), and every third
    step by halving, so that it ends however the function bends.
    """
    at_low, at_high = above(low), above(high)
    kept = 0
    for turn in range(MOST_STEPS):
        share = -at_low / (at_high - at_low) if turn % 3 < 2 else 0.5
        middle = low + share * (high - low)
        if high - low <= SETTLED * abs(middle) or (value := above(middle)) == 0:
            return middle
        if value < 0:
            low, at_low, side = middle, value, -1
            at_high = at_high / 2 if kept == side else at_high
        else:
            high, at_high, side = middle, value, 1
            at_low = at_low / 2 if kept == side else at_low
        kept = side
    return (low + high) / 2
