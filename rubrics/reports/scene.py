"""A drawing as a frozen list of marks, before it is a picture on a page or on paper.

The origin is at the top left, y grows downwards, one unit is one CSS pixel at the drawing's own
width. A mark has a role, not a colour.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from .palette import Role

Point = tuple[float, float]

SMALLEST_TEXT = 12.0
"""No words in a drawing are smaller than this: 12 px on a phone. [unit]"""


@dataclass(frozen=True, slots=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float
    role: Role


@dataclass(frozen=True, slots=True)
class Path:
    """Points joined by straight lines, or by a smooth curve through them."""

    points: tuple[Point, ...]
    role: Role
    closed: bool = False
    smooth: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    r: float
    role: Role


@dataclass(frozen=True, slots=True)
class Rect:
    x: float
    y: float
    width: float
    height: float
    role: Role
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Text:
    """Words on one line; ``y`` is the base line."""

    x: float
    y: float
    words: str
    role: Role = Role.INK
    size: float = SMALLEST_TEXT
    strong: bool = False
    anchor: str = "start"
    """"start", "middle" or "end"."""


Mark = Line | Path | Circle | Rect | Text


@dataclass(frozen=True, slots=True)
class Scene:
    """A drawing: its size and its marks in the order in which they are laid down."""

    width: float
    height: float
    marks: tuple[Mark, ...]

    def without_words(self) -> Scene:
        return replace(self, marks=tuple(m for m in self.marks if not isinstance(m, Text)))

    def texts(self) -> tuple[Text, ...]:
        return tuple(m for m in self.marks if isinstance(m, Text))


def moved(mark: Mark, dx: float, dy: float) -> Mark:
    """The same mark elsewhere."""
    match mark:
        case Line(x1, y1, x2, y2, _):
            return replace(mark, x1=x1 + dx, y1=y1 + dy, x2=x2 + dx, y2=y2 + dy)
        case Path(points):
            return replace(mark, points=tuple((x + dx, y + dy) for x, y in points))
        case _:
            return replace(mark, x=mark.x + dx, y=mark.y + dy)


def stacked(width: float, scenes: Iterable[Scene], *, gap: float) -> Scene:
    """One scene with others below each other."""
    marks: list[Mark] = []
    below = 0.0
    for scene in scenes:
        if marks:
            below += gap
        marks.extend(moved(mark, 0.0, below) for mark in scene.marks)
        below += scene.height
    return Scene(width, below, tuple(marks))


def scaled(scene: Scene, factor: float) -> Scene:
    """The same scene larger or smaller; line widths belong to the roles and stay."""

    def grow(mark: Mark) -> Mark:
        match mark:
            case Line(x1, y1, x2, y2, role):
                return Line(x1 * factor, y1 * factor, x2 * factor, y2 * factor, role)
            case Path(points):
                return replace(mark, points=tuple((x * factor, y * factor) for x, y in points))
            case Circle(x, y, r, role):
                return Circle(x * factor, y * factor, r * factor, role)
            case Rect(x, y, w, h, role, radius):
                return Rect(x * factor, y * factor, w * factor, h * factor, role, radius * factor)
            case Text(x, y):
                return replace(mark, x=x * factor, y=y * factor, size=mark.size * factor)

    return Scene(scene.width * factor, scene.height * factor, tuple(map(grow, scene.marks)))


def bounds(mark: Mark) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a mark that is not words, without its line's width."""
    match mark:
        case Line(x1, y1, x2, y2):
            return (min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))
        case Path(points):
            xs, ys = [x for x, _ in points], [y for _, y in points]
            return (min(xs), min(ys), max(xs), max(ys))
        case Circle(x, y, r):
            return (x - r, y - r, x + r, y + r)
        case Rect(x, y, width, height):
            return (x, y, x + width, y + height)
    raise TypeError("The width of words depends on their font.")


def cropped(scene: Scene, margin: float) -> Scene:
    """A wordless scene cut down to its marks, with a margin all round."""
    boxes = [bounds(mark) for mark in scene.marks]
    left, top = min(b[0] for b in boxes) - margin, min(b[1] for b in boxes) - margin
    right, bottom = max(b[2] for b in boxes) + margin, max(b[3] for b in boxes) + margin
    marks = tuple(moved(mark, -left, -top) for mark in scene.marks)
    return Scene(right - left, bottom - top, marks)


def arc(x: float, y: float, r: float, from_deg: float, to_deg: float) -> tuple[Point, ...]:
    """Points along a circle for a smooth path; degrees clockwise on the page from the right."""
    steps = max(2, math.ceil(abs(to_deg - from_deg) / 10.0))
    return tuple(
        (x + r * math.cos(math.radians(turn)), y + r * math.sin(math.radians(turn)))
        for turn in (from_deg + (to_deg - from_deg) * i / steps for i in range(steps + 1))
    )


def bezier(path: Path) -> list[tuple[Point, Point, Point]]:
    """Cubic pieces (control, control, end) of a smooth path: Catmull-Rom through its points."""
    points: Sequence[Point] = path.points
    count = len(points)
    if count < 2:
        return []

    def at(index: int) -> Point:
        return points[index % count] if path.closed else points[min(max(index, 0), count - 1)]

    pieces = []
    for i in range(count if path.closed else count - 1):
        before, start, end, after = at(i - 1), at(i), at(i + 1), at(i + 2)
        pieces.append(
            (
                (start[0] + (end[0] - before[0]) / 6, start[1] + (end[1] - before[1]) / 6),
                (end[0] - (after[0] - start[0]) / 6, end[1] - (after[1] - start[1]) / 6),
                end,
            )
        )
    return pieces
