"""Words on a pattern, each where no line crosses it and the paper under it is kept."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from .drawn import PatternLine, PatternPart, Point, Spot, Word, clip

TYPE_MM = 2.65
"""Size of the type: 7.5 points. [mm]"""
ADVANCE_EM = 0.52
"""Width of a letter as a share of the type's size; the typeface on paper runs a little narrower."""
TALL_EM = 0.95
"""From the lowest descender to the highest ascender, as a share of the type's size."""
CLEAR_MM = 0.8
"""So far words stand from any line. [mm]"""
GRID_MM, REACH_MM = 4.0, 60.0
"""Steps and reach of the search for another place. [mm]"""


@dataclass(frozen=True, slots=True)
class Window:
    """A sheet's own share of a part: words stand in one whole, or not there. [mm]"""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Placed:
    """Words with their place and the number of the window they stand in."""

    text: str
    spot: Spot
    window: int


@dataclass(frozen=True, slots=True)
class _Box:
    spot: Spot
    width: float
    height: float

    @property
    def corners(self) -> list[Point]:
        c, s = _turn(self.spot.turn_deg)
        w, h = self.width / 2, self.height / 2
        return [
            (self.spot.x + c * x - s * y, self.spot.y + s * x + c * y)
            for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))
        ]

    def meets(self, line: PatternLine, clear: float) -> bool:
        """Whether a line comes nearer than ``clear``."""
        c, s = _turn(self.spot.turn_deg)
        ends = [
            (
                c * (x - self.spot.x) + s * (y - self.spot.y),
                c * (y - self.spot.y) - s * (x - self.spot.x),
            )
            for x, y in ((line.x0, line.y0), (line.x1, line.y1))
        ]
        own = PatternLine(*ends[0], *ends[1], line.kind)
        w, h = self.width / 2 + clear, self.height / 2 + clear
        return clip(own, -w, -h, 2 * w, 2 * h) is not None


def _turn(degrees: float) -> Point:
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


def place(part: PatternPart, windows: Sequence[Window]) -> tuple[list[Placed], list[str]]:
    """Find a clear place for every word of a part.

    Parameters
    ----------
    part : PatternPart
    windows : sequence of Window
        The sheets it is spread over, by what of it only they show.

    Returns
    -------
    placed : list of Placed
    left : list of str
        Words for which there is no room.
    """
    placed, left, taken = [], [], []
    for word in part.words:
        found = next(_free(word, part, windows, taken), None)
        if found is None:
            left.append(word.text)
            continue
        box, window = found
        taken.append(box)
        placed.append(Placed(word.text, box.spot, window))
    return placed, left


def _free(word: Word, part: PatternPart, windows: Sequence[Window], taken: list[_Box]):
    width, height = len(word.text) * ADVANCE_EM * TYPE_MM, TALL_EM * TYPE_MM
    edges = [PatternLine(*p, *q, "") for other in taken for p, q in _around(other.corners)]
    lines = [*part.lines, *edges]
    for spot in _spots(word.spots):
        box = _Box(spot, width, height)
        corners = box.corners
        window = next((at for at, each in enumerate(windows) if _holds(each, corners)), None)
        if window is None or not all(_inside(part.outline, corner) for corner in corners):
            continue
        if not any(box.meets(line, CLEAR_MM) for line in lines):
            yield box, window


def _spots(wanted: Sequence[Spot]) -> Iterable[Spot]:
    """The wanted places, then places around each, the nearest first."""
    yield from wanted
    steps = int(REACH_MM / GRID_MM)
    around = sorted(
        (
            (i * GRID_MM, k * GRID_MM)
            for i in range(-steps, steps + 1)
            for k in range(-steps, steps + 1)
        ),
        key=lambda move: math.hypot(*move),
    )
    for spot in wanted:
        for dx, dy in around:
            yield Spot(spot.x + dx, spot.y + dy, spot.turn_deg)


def _around(points: Sequence[Point]):
    return pairwise([*points, points[0]])


def _holds(window: Window, corners: Sequence[Point]) -> bool:
    return all(
        window.x <= x <= window.x + window.width and window.y <= y <= window.y + window.height
        for x, y in corners
    )


def _inside(outline: Sequence[Point], point: Point) -> bool:
    """Even-odd rule: how often a ray to the right crosses the outline."""
    x, y = point
    inside = False
    for (x0, y0), (x1, y1) in _around(outline):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            inside = not inside
    return inside
