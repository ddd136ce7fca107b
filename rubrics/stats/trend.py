"""Whether figures rise or fall from project to project, told no sooner than it can be told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from . import kendall
from .errors import CannotTellError
from .family import CHANCE, holm, room

RISING, STEADY, FALLING, TOO_EARLY = "rising", "steady", "falling", "too early to tell"

FEWEST_POINTS = 4
"""Under four points no slope is told; a rise or a fall takes more, see :func:`trends`."""

COVERAGE = 0.95
"""Of the slope's interval, at least, two-sided."""


@dataclass(frozen=True, slots=True)
class Slope:
    """A Theil-Sen line: ``slope`` per step of x, ``intercept``, all pairwise ``slopes``."""

    slope: float
    intercept: float
    slopes: tuple[float, ...]
    x: tuple[float, ...]

    def interval(self, coverage: float = COVERAGE) -> tuple[float, float] | None:
        """Sen's interval: the slopes that Kendall's exact S does not refuse.

        It covers at least as often as it says; None where the points are too few for it.
        """
        count, stray = len(self.slopes), kendall.largest_by_chance(self.x, coverage)
        low, high = round((count - stray) / 2) - 1, round((count + stray) / 2)
        return (self.slopes[low], self.slopes[high]) if low >= 0 and high < count else None


@dataclass(frozen=True, slots=True)
class Trend:
    """A word on the trend and what it stands on.

    ``chance`` is the line's own, two-sided; ``held`` is the same beside all lines of the page, and
    a rise or fall is told where it is at most the page's chance. Without a slope there are fewer
    than four points or one project only; without an interval too few points for it.
    """

    word: str
    count: int
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    chance: float = 1.0
    held: float = 1.0


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
    CannotTellError
        Lengths differ, a value is not finite, or all x are the same.

    References
    ----------
    .. [1] P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, Journal of
       the American Statistical Association 63 (1968) 1379-1389.
    """
    x, y = kendall.points(x, y)
    first, second = np.triu_indices(len(x), k=1)
    run = x[second] - x[first]
    apart = run != 0
    if not apart.any():
        raise CannotTellError("All figures belong to one and the same project.")
    slopes = np.sort((y[second] - y[first])[apart] / run[apart])
    slope = float(np.median(slopes))
    return Slope(
        slope=slope,
        intercept=float(np.median(y) - slope * np.median(x)),
        slopes=tuple(map(float, slopes)),
        x=tuple(map(float, x)),
    )


def trends(
    lines: Sequence[tuple[Sequence[float], Sequence[float]]], *, chance: float = CHANCE
) -> tuple[Trend, ...]:
    """A word for each of the lines that one page shows together.

    Where nothing but chance is at work, any line at all is called rising or falling on at most
    ``chance`` of such pages: exact two-sided chances with ties counted, Holm's rule over the lines
    that could be told at all. ``too early to tell``: so few points that not even a perfect order
    would be told here. ``steady``: enough points, and no direction that stands out.

    Parameters
    ----------
    lines : sequence of (x, y), each array_like of shape (n,)
        The number of the project, and its figure.

    Returns
    -------
    tuple of Trend
        In the order given.
    """
    lines = [(list(x), list(y)) for x, y in lines]
    able = [len(x) >= FEWEST_POINTS and len(set(x)) > 1 for x, _ in lines]
    least = [
        kendall.least_chance(*line) if ok else 1.0 for line, ok in zip(lines, able, strict=True)
    ]
    share = chance / room(least, chance)
    inside = [i for i, each in enumerate(least) if each <= share]
    own = {i: kendall.chance_of(*lines[i]) for i in range(len(lines)) if able[i]}
    held = dict(zip(inside, holm([own[i] for i in inside]), strict=True))
    return tuple(
        _word(*line, own=own[i], held=held.get(i, 1.0), chance=chance, share=share) if able[i]
        else Trend(TOO_EARLY, len(line[0]))
        for i, line in enumerate(lines)
    )  # fmt: skip


def trend(x, y, *, chance: float = CHANCE) -> Trend:
    """:func:`trends` of a single line: only where a page shows no other."""
    return trends([(x, y)], chance=chance)[0]


def _word(x, y, *, own: float, held: float, chance: float, share: float) -> Trend:
    fitted = theil_sen(x, y)
    low, high = fitted.interval() or (None, None)
    word = STEADY
    if held <= chance:
        word = RISING if kendall.kendall_s(x, y) > 0 else FALLING
    elif kendall.least_chance(x, range(len(x))) > share:  # as if no two figures were alike
        word = TOO_EARLY
    return Trend(word, len(x), fitted.slope, low, high, own, held)
