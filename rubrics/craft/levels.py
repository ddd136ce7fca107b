"""Limits that cut a figure into levels, and the level suggested with the benefit of the doubt."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.ware.uncertainty import COVERAGE_FACTOR

from .results import Refused, Result, SeamJoin

HIGHEST_LEVEL, LOWEST_LEVEL = 4, 1

ROUNDING = 1e-9
"""Share of the figures by which binary rounding may miss an equality that holds on paper."""


def not_above(left: float, right: float) -> bool:
    """Whether left <= right, forgiving the rounding of binary numbers."""
    return left <= right + ROUNDING * max(abs(left), abs(right))


@dataclass(frozen=True, slots=True)
class Limit:
    """How one figure is cut into levels: up to ``a`` is 4, up to ``b`` is 3, up to ``c`` is 2.

    ``figure`` is "check.figure", as in "rim_level.rise_mm". The check's own verdict is on ``b``,
    what the trade calls acceptable. Signed figures are judged on their magnitude.
    """

    figure: str
    a: float
    b: float
    c: float

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
    """The level that one figure suggests, and the levels its interval reaches (low, high)."""

    figure: str
    value: float
    u: float
    level: int
    reaches: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A level to suggest.

    Attributes
    ----------
    level : int
        4 (best) to 1.
    reaches : (int, int)
        Lowest and highest level that the measured interval reaches.
    doubt : bool
        Whether the reading could not tell, so that the higher level was taken.
    decides : str or None
        The figure that holds the level down; None for a bare value.
    missing : tuple of str
        Figures asked for that were not measured or could not be computed.
    figures : tuple of FigureLevel
        Every figure that took part.
    """

    level: int
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
    """Suggest the highest level that the interval value ± 2u reaches.

    Nobody is marked down for what a reading cannot tell.

    Parameters
    ----------
    value : float
        The figure; a signed one counts by its magnitude.
    u : float or None
        Its standard uncertainty; None where there is none to give.
    limits : (a, b, c)
        Up to a is 4, up to b is 3, up to c is 2, beyond is 1.
    """
    size, expanded = abs(value), COVERAGE_FACTOR * (u or 0.0)
    high = level_of(max(0.0, size - expanded), limits)
    low = level_of(size + expanded, limits)
    return Suggestion(level=high, reaches=(low, high), doubt=low != high)


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
        None where none of the figures was measured. A crack that goes through suggests level 1
        to every criterion that leans on the seam, whatever its length.
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
            continue
        u = getattr(result, f"u_{figure}", None) or 0.0
        alone = suggest_level(value, u, limit.bounds)
        level, reaches = alone.level, alone.reaches
        if isinstance(result, SeamJoin) and result.through:
            level, reaches = LOWEST_LEVEL, (LOWEST_LEVEL, LOWEST_LEVEL)
        found.append(FigureLevel(limit.figure, value, u, level, reaches))
    if not found:
        return None
    lowest = min(found, key=lambda each: (each.level, each.reaches[0]))
    low = min(each.reaches[0] for each in found)
    return Suggestion(
        level=lowest.level,
        reaches=(low, lowest.level),
        doubt=low != lowest.level,
        decides=lowest.figure,
        missing=tuple(missing),
        figures=tuple(found),
    )
