"""Limits that cut a figure into levels, and the level suggested with the benefit of the doubt.

The benefit has an end. A reading that spans three levels suggests nothing, nor does one that is
further beyond a limit than a fit instrument could be mistaken: doubt must not be earned by
reading with a coarser tool.

References
----------
.. [1] JCGM 106:2012, 8.3 (guard bands) and 7.6 (measurement capability index).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.ware.uncertainty import COVERAGE_FACTOR

from .results import Refused, Result, SeamJoin

HIGHEST_LEVEL, LOWEST_LEVEL = 4, 1

BENEFIT_SHARE = 0.25
"""Share of a band by which a figure may pass a limit and still keep the higher level.

An instrument is commonly held fit for a tolerance of four times its U (the 4:1 rule of thumb of
calibration practice, from memory). What such an instrument could miss is given to everybody; what
a coarser one misses beyond it is not.
"""

ROUNDING = 1e-9
"""Share of the figures by which binary rounding may miss an equality that holds on paper."""


def not_above(left: float, right: float) -> bool:
    """Whether left <= right, forgiving the rounding of binary numbers."""
    return left <= right + ROUNDING * max(abs(left), abs(right))


@dataclass(frozen=True, slots=True)
class Limit:
    """How one figure is cut into levels: up to ``a`` is 4, up to ``b`` is 3, up to ``c`` is 2.

    ``figure`` is "check.figure", as in "rim_level.rise_mm". The check's own verdict is on ``b``,
    what the trade calls acceptable. Signed figures are judged on their magnitude. ``graded`` is
    whether a rubric grades by it.
    """

    figure: str
    a: float
    b: float
    c: float
    graded: bool = True

    def __post_init__(self) -> None:
        if not all(math.isfinite(bound) for bound in self.bounds):
            raise ValueError(f"The limits of {self.figure} must be numbers.")
        if not 0 <= self.a <= self.b <= self.c:
            raise ValueError(f"The limits of {self.figure} must rise and not be negative.")

    @property
    def bounds(self) -> tuple[float, float, float]:
        return (self.a, self.b, self.c)


@dataclass(frozen=True, slots=True)
class FigureLevel:
    """The level that one figure suggests, and the levels its interval reaches (low, high).

    ``level`` is None where the reading cannot carry one; ``needed_u`` is then the largest
    standard uncertainty with which the same value would, None where no instrument helps because
    the stations show no more than a part (``at_least``).
    """

    figure: str
    value: float
    u: float
    level: int | None
    reaches: tuple[int, int]
    needed_u: float | None = None
    at_least: bool = False


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A level to suggest.

    Attributes
    ----------
    level : int or None
        4 (best) to 1; None where the reading that decides is too rough to suggest one.
    reaches : (int, int)
        Lowest and highest level that the measured interval reaches.
    doubt : bool
        Whether the reading could not tell for certain.
    decides : str or None
        The figure that holds the level down, or that would have to be read again; None for a
        bare value.
    missing : tuple of str
        Figures asked for that were not measured or could not be computed.
    figures : tuple of FigureLevel
        Every figure that took part.
    """

    level: int | None
    reaches: tuple[int, int]
    doubt: bool
    decides: str | None = None
    missing: tuple[str, ...] = ()
    figures: tuple[FigureLevel, ...] = ()


def level_of(size: float, limits: Sequence[float]) -> int:
    """Level of an exactly known size, which is not negative, for limits a <= b <= c."""
    for level, bound in zip(range(HIGHEST_LEVEL, LOWEST_LEVEL, -1), limits, strict=True):
        if not_above(size, bound):
            return level
    return LOWEST_LEVEL


def suggest_level(value: float, u: float | None, limits: Sequence[float]) -> Suggestion:
    """Suggest the level of a value ± 2u, as far as that can be told.

    Where the interval reaches one level, it is that one. Where it reaches two, the higher is
    kept if the value passes the limit between them by no more than :data:`BENEFIT_SHARE` of the
    narrower band beside it, and 2u is no wider than that band. Otherwise, and where three levels
    are reached, nothing is suggested.

    Parameters
    ----------
    value : float
        The figure; a signed one counts by its magnitude.
    u : float or None
        Its standard uncertainty; None where there is none to give.
    limits : (a, b, c)
        Up to a is 4, up to b is 3, up to c is 2, beyond is 1. A level whose band has no width
        (a = b, say) counts for no level.

    References
    ----------
    .. [1] JCGM 106:2012, 8.3: a decision rule with a guard band.
    """
    size, expanded = abs(value), COVERAGE_FACTOR * (u or 0.0)
    high = level_of(max(0.0, size - expanded), limits)
    low = level_of(size + expanded, limits)
    level = high if low == high else _level_in_doubt(size, expanded, limits, low, high)
    return Suggestion(level=level, reaches=(low, high), doubt=low != high)


def _level_in_doubt(
    size: float, expanded: float, limits: Sequence[float], low: int, high: int
) -> int | None:
    """The level between ``low`` and ``high`` to suggest, or None."""
    if any(_width(level, limits) > 0 for level in range(low + 1, high)):
        return None
    if level_of(size, limits) == high:
        return high
    edge = limits[HIGHEST_LEVEL - high]
    widths = [width for width in (_width(high, limits), _width(low, limits)) if width > 0]
    band = min(widths)
    if math.isinf(band):  # every limit is nought: there is no scale to be generous by
        return None
    close = not_above(size, edge + BENEFIT_SHARE * band)
    return high if close and not_above(expanded, band) else None


def _width(level: int, limits: Sequence[float]) -> float:
    """Width of a level's band; the lowest has no end."""
    if level == LOWEST_LEVEL:
        return math.inf
    place = HIGHEST_LEVEL - level
    return limits[place] - (limits[place - 1] if place else 0.0)


_HALVINGS = 40


def needed_u(value: float, u: float, limits: Sequence[float]) -> float:
    """Largest standard uncertainty up to ``u`` with which a value would suggest a level."""
    enough, too_much = 0.0, u
    for _ in range(_HALVINGS):
        middle = (enough + too_much) / 2
        if suggest_level(value, middle, limits).level is None:
            too_much = middle
        else:
            enough = middle
    return enough


def suggest(results: Mapping[str, Result], limits: Sequence[Limit]) -> Suggestion | None:
    """Suggest the lowest of the levels of the figures that a criterion leans on.

    Parameters
    ----------
    results : mapping of check name to result
        What :func:`rubrics.checks.compute.check_piece` gives.
    limits : sequence of Limit
        The criterion's limits; each names its figure as "check.figure".

    Returns
    -------
    Suggestion or None
        None where none of the figures was measured. Its ``level`` is None where a figure that
        is too rough to tell could lie below what the others say. A crack that goes through
        suggests level 1 to every criterion that leans on the seam, whatever its length.
    """
    found, missing = [], []
    for limit in limits:
        check, _, figure = limit.figure.partition(".")
        result = results.get(check)
        value = (
            None if result is None or isinstance(result, Refused) else getattr(result, figure, None)
        )
        if value is None:
            missing.append(limit.figure)
        else:
            found.append(_figure_level(limit, result, figure, value))
    if not found:
        return None
    decided = [each for each in found if each.level is not None]
    lowest = min(decided, key=lambda each: (each.level, each.reaches[0]), default=None)
    rough = min(
        (each for each in found if each.level is None), key=lambda e: e.reaches[0], default=None
    )
    low = min(each.reaches[0] for each in found)
    if rough is not None and (lowest is None or rough.reaches[0] < lowest.level):
        high = min(each.reaches[1] if each.level is None else each.level for each in found)
        level, decides = None, rough.figure
    else:
        level = high = lowest.level
        decides = lowest.figure
    return Suggestion(
        level=level,
        reaches=(low, high),
        doubt=low != level,
        decides=decides,
        missing=tuple(missing),
        figures=tuple(found),
    )


def _figure_level(limit: Limit, result: Result, figure: str, value: float) -> FigureLevel:
    """The level of one measured figure."""
    u = getattr(result, f"u_{figure}", None) or 0.0
    if isinstance(result, SeamJoin) and result.through:
        return FigureLevel(limit.figure, value, u, LOWEST_LEVEL, (LOWEST_LEVEL, LOWEST_LEVEL))
    alone = suggest_level(value, u, limit.bounds)
    if figure in getattr(result, "at_least", ()):
        # What was not seen can only make it worse: the lowest level alone is certain.
        level = LOWEST_LEVEL if alone.reaches[1] == LOWEST_LEVEL else None
        return FigureLevel(
            limit.figure, value, u, level, (LOWEST_LEVEL, alone.reaches[1]), at_least=True
        )
    needed = needed_u(value, u, limit.bounds) if alone.level is None else None
    return FigureLevel(limit.figure, value, u, alone.level, alone.reaches, needed)
