"""What a pattern is drawn with: lines of a kind, words with places to stand, parts. Millimetres.

In every part x runs along the slab and y up from the foot; (0, 0) is the lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

CUT, FOLD, MARK, SEAM = "cut", "fold", "mark", "seam"
"""What a line is for: cut along it; the middle; a mark to transfer and never cut; how far a bevel
reaches in."""

Point = tuple[float, float]

SAME_POINT_MM = 1e-9
"""Nearer than this two points are one but for rounding. [mm]"""


@dataclass(frozen=True, slots=True)
class PatternLine:
    """A straight line, with what it is for."""

    x0: float
    y0: float
    x1: float
    y1: float
    kind: str


@dataclass(frozen=True, slots=True)
class Spot:
    """Where words may stand: their middle, and their turn counter-clockwise [°]."""

    x: float
    y: float
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Word:
    """Words with the places where they may stand, the best one first."""

    text: str
    spots: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class PatternPart:
    """One part to cut: its name, its size, its outline, and what is drawn on it."""

    name: str
    width_mm: float
    height_mm: float
    outline: tuple[Point, ...]
    lines: tuple[PatternLine, ...]
    words: tuple[Word, ...] = field(default=())


def polyline(points: Iterable[Point], kind: str) -> list[PatternLine]:
    """Lines from point to point."""
    return [
        PatternLine(*p, *q, kind) for p, q in pairwise(points) if math.dist(p, q) > SAME_POINT_MM
    ]


def closed(points: Iterable[Point], kind: str) -> list[PatternLine]:
    """The same, and back to the first."""
    around = list(points)
    return polyline([*around, around[0]], kind)


def clip(line: PatternLine, x: float, y: float, width: float, height: float) -> PatternLine | None:
    """What of a line lies in a window; None for nothing.

    References
    ----------
    .. [1] Y.-D. Liang, B. A. Barsky, ACM Trans. Graph. 3 (1984) 1-22 (from memory).
    """
    dx, dy = line.x1 - line.x0, line.y1 - line.y0
    begin, end = 0.0, 1.0
    for step, room in (
        (-dx, line.x0 - x),
        (dx, x + width - line.x0),
        (-dy, line.y0 - y),
        (dy, y + height - line.y0),
    ):
        if step == 0:
            if room < -1e-9:
                return None
            continue
        share = room / step
        if step < 0:
            begin = max(begin, share)
        else:
            end = min(end, share)
    if begin >= end:
        return None
    return PatternLine(
        line.x0 + begin * dx,
        line.y0 + begin * dy,
        line.x0 + end * dx,
        line.y0 + end * dy,
        line.kind,
    )
