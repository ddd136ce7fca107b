"""Kendall's S, and the exact chance of it when figures or times are alike."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import product
from statistics import NormalDist

import numpy as np

from .errors import CannotTellError

EXACT_ONE_TIED = 40
"""Up to so many points the chance is counted when times or figures are all different."""

EXACT_BOTH_TIED = 10
"""Up to so many points it is counted when there are ties in both; beyond, the normal curve with
the variance of the ties and the correction for continuity stands in."""


def points(x, y) -> tuple[np.ndarray, np.ndarray]:
    """Two arrays of one length, two points at least, all finite."""
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if x.shape != y.shape or x.ndim != 1 or len(x) < 2:
        raise CannotTellError("A trend needs two figures at least, each with its time.")
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise CannotTellError("A figure is missing or is no number.")
    return x, y


def kendall_s(x, y) -> int:
    """Pairs that rise less pairs that fall (Mann-Kendall's S when x is time)."""
    x, y = points(x, y)
    first, second = np.triu_indices(len(x), k=1)
    return int(np.sum(np.sign(y[second] - y[first]) * np.sign(x[second] - x[first])))


def chance_of(x, y, *, one_sided: bool = False) -> float:
    """Chance that the same figures in random order have an S as far from 0 as these.

    Parameters
    ----------
    x, y : array_like, shape (n,)
    one_sided : bool
        Count only orders that lean the way these do: 1, 2, 2, 3 has 1 in 12, and 1 in 6 two-sided.

    References
    ----------
    .. [1] M. G. Kendall, Rank Correlation Methods (1948), ch. 3 to 5.
    """
    x, y = points(x, y)
    return _chance(kendall_s(x, y), _groups(x), _groups(y), one_sided)


def least_chance(x, y) -> float:
    """The two-sided chance that the best possible order of these figures has."""
    x, y = points(x, y)
    x_groups, y_groups = _groups(x), _groups(y)
    counted = _distribution(x_groups, y_groups)
    most = max(map(abs, counted)) if counted else min(map(_untied, (x_groups, y_groups)))
    return _chance(most, x_groups, y_groups, False)


def largest_by_chance(x, coverage: float) -> float:
    """The smallest C with P(-C <= S <= C) >= coverage for figures that are all different."""
    x = np.asarray(x, dtype=float)
    groups, alone = _groups(x), (1,) * len(x)
    counted = _distribution(groups, alone)
    if not counted:
        return NormalDist().inv_cdf(0.5 + coverage / 2) * math.sqrt(_variance(groups, alone))
    total, within = sum(counted.values()), 0
    for size in sorted({abs(s) for s in counted}):
        within += sum(counted[s] for s in {size, -size} if s in counted)
        if within >= coverage * total:
            break
    return size


def deviation(x, y) -> float:
    """Standard deviation of S when the order is random, ties in x and y taken into account."""
    x, y = points(x, y)
    return math.sqrt(_variance(_groups(x), _groups(y)))


def _chance(s: int, x_groups, y_groups, one_sided: bool) -> float:
    if s == 0:
        return 1.0
    counted = _distribution(x_groups, y_groups)
    if counted:
        # With ties in both, S may lean one way: the two sides are counted, not doubled.
        def beyond(value: int) -> bool:
            return value * s >= s * s or (not one_sided and abs(value) >= abs(s))

        orders = sum(count for value, count in counted.items() if beyond(value))
        return orders / sum(counted.values())
    spread = math.sqrt(_variance(x_groups, y_groups))
    side = NormalDist().cdf((1 - abs(s)) / spread)  # the correction for continuity
    return side if one_sided else min(1.0, 2 * side)


def _groups(values: np.ndarray) -> tuple[int, ...]:
    """How many are alike, from the smallest value up."""
    return tuple(int(count) for count in np.unique(values, return_counts=True)[1])


def _untied(groups: tuple[int, ...]) -> int:
    n = sum(groups)
    return math.comb(n, 2) - sum(math.comb(each, 2) for each in groups)


def _variance(t: tuple[int, ...], u: tuple[int, ...]) -> float:
    """Kendall (1948), ch. 4: the variance of S with ties in both."""
    n = sum(t)

    def five(groups):
        return sum(each * (each - 1) * (2 * each + 5) for each in groups)

    def falling(groups, k):
        return sum(math.perm(each, k) for each in groups)

    value = (n * (n - 1) * (2 * n + 5) - five(t) - five(u)) / 18
    value += falling(t, 2) * falling(u, 2) / (2 * n * (n - 1))
    if n > 2:
        value += falling(t, 3) * falling(u, 3) / (9 * n * (n - 1) * (n - 2))
    return max(value, 0.0)  # all alike: nothing but rounding is left


@lru_cache(maxsize=1024)
def _distribution(x_groups: tuple[int, ...], y_groups: tuple[int, ...]) -> dict[int, int]:
    """How many orders have which S; empty where there are too many points to count."""
    n = sum(x_groups)
    for groups, other in ((x_groups, y_groups), (y_groups, x_groups)):
        if len(other) == n:
            return _one_tied(groups) if n <= EXACT_ONE_TIED else {}
    return _both_tied(x_groups, y_groups) if n <= EXACT_BOTH_TIED else {}


def _one_tied(groups: tuple[int, ...]) -> dict[int, int]:
    """Orders by their falling pairs: the coefficients of [n]! / ([t1]! [t2]! ...), where
    [k] = 1 + q + ... + q^(k-1).

    References
    ----------
    .. [1] P. A. MacMahon, Combinatory Analysis I (1915): inversions of a multiset.
    """
    pairs = _untied(groups)
    counts = [1] + [0] * pairs
    below = [k for each in groups for k in range(1, each + 1)]
    for top, bottom in zip(range(1, sum(groups) + 1), sorted(below), strict=True):
        if top == bottom:
            continue
        # times (1 - q^top), over (1 - q^bottom); what is beyond ``pairs`` never comes back
        for place in range(pairs, top - 1, -1):
            counts[place] -= counts[place - top]
        for place in range(bottom, pairs + 1):
            counts[place] += counts[place - bottom]
    return {pairs - 2 * falling: count for falling, count in enumerate(counts) if count}


def _both_tied(x_groups: tuple[int, ...], y_groups: tuple[int, ...]) -> dict[int, int]:
    """Orders counted time by time: which figures are used up, and what S is so far."""
    ways: dict[tuple[int, ...], dict[int, int]] = {(0,) * len(y_groups): {0: 1}}
    for size in x_groups:
        later: dict[tuple[int, ...], dict[int, int]] = {}
        for used, so_far in ways.items():
            left = [whole - gone for whole, gone in zip(y_groups, used, strict=True)]
            for taken in product(*(range(min(each, size) + 1) for each in left)):
                if sum(taken) != size:
                    continue
                gain = sum(
                    count * (sum(used[:j]) - sum(used[j + 1 :])) for j, count in enumerate(taken)
                )
                orders = math.factorial(size) // math.prod(map(math.factorial, taken))
                place = tuple(map(sum, zip(used, taken, strict=True)))
                counts = later.setdefault(place, {})
                for s, count in so_far.items():
                    counts[s + gain] = counts.get(s + gain, 0) + count * orders
        ways = later
    return ways[y_groups]
