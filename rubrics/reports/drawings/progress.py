"""One student's grades from project to project: an own line, no one else's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..layout import DrawingSheet, fitted, text_box
from ..palette import Role
from ..scene import Circle, Line, Path, Scene, Text
from ..wording import decimal_said, percent

LABELS, BELOW, ABOVE = 34.0, 18.0, 16.0
"""Room at the left for the scale, below for the titles, above for the topmost figure. [unit]"""
ASIDE = 26.0
SIZE = 10.5
PLACES = ((0.0, -8.0, "middle"), (0.0, 17.0, "middle"), (8.0, 3.5, "start"), (-8.0, 3.5, "end"))
"""Where a figure may stand: right and down from its dot, and which end of it."""
TICKS = (0.0, 50.0, 100.0)
TOP = TICKS[-1]


@dataclass(frozen=True, slots=True)
class ProgressPoint:
    """One project on the line; ``percent`` as it was published ("85", "87.5")."""

    title: str
    percent: str


def progress(
    steps: Sequence[ProgressPoint], *, width: float, height: float, joined: bool = False
) -> Scene:
    """Draw the grades of the projects in their order, from nought to a hundred; the latest one
    stands out.

    A line joins them only where ``joined``: it reads as a way up or down, and few points tell none.
    """
    sheet = DrawingSheet(width, height)
    figures = [float(step.percent) for step in steps]
    bottom, top = height - BELOW, ABOVE

    def y_of(figure: float) -> float:
        return bottom - min(figure, TOP) / TOP * (bottom - top)

    lines = [y_of(tick) for tick in TICKS]
    for tick, y in zip(TICKS, lines, strict=True):
        sheet.add(Line(LABELS, y, width, y, Role.AXIS))
        words = percent(f"{tick:.0f}")
        sheet.label(Text(LABELS - 4, y + SIZE / 3, words, Role.SOFT, SIZE - 1.0, anchor="end"))
    across = _places(len(steps), width)
    points = tuple(zip(across, map(y_of, figures), strict=True))
    if joined:
        sheet.add(Path(points, Role.MEASURE))
    room = (width - LABELS) / max(len(steps), 1) - 6.0
    for place, (step, (x, y)) in enumerate(zip(steps, points, strict=True)):
        last = place == len(steps) - 1
        sheet.add(Circle(x, y, 5.0 if last else 3.5, Role.MEASURE_DOT))
        words = percent(decimal_said(step.percent))
        places = [sheet.inside(each) for each in _beside(x, y, words, last)]
        sheet.label(*sorted(places, key=lambda text: _is_struck(text, lines)))
        title = fitted(step.title, room, SIZE)
        sheet.label_row(x, height - 3, title, size=SIZE, anchor="middle")
    return sheet.scene()


def _places(count: int, width: float) -> list[float]:
    """Where the projects stand, from left to right; one alone stands in the middle."""
    left, right = LABELS + ASIDE, width - ASIDE
    if count == 1:
        return [(left + right) / 2]
    return [left + (right - left) * place / (count - 1) for place in range(count)]


def _beside(x: float, y: float, words: str, last: bool) -> list[Text]:
    """A figure above its dot, below, and to its sides, to choose from."""
    role = Role.MEASURE_TEXT if last else Role.INK
    return [
        Text(x + aside, y + drop, words, role, SIZE + 0.5, strong=last, anchor=anchor)
        for aside, drop, anchor in PLACES
    ]


def _is_struck(text: Text, lines: list[float]) -> bool:
    _, top, _, bottom = text_box(text)
    return any(top < y < bottom for y in lines)
