"""A small line from project to project: one student's levels, or one measured figure."""

from __future__ import annotations

from collections.abc import Sequence

from ..palette import Role
from ..scene import Circle, Line, Path, Scene

EDGE = 8.0
LEVELS = (1.0, 4.0)


def course(
    values: Sequence[float], *, width: float, height: float, span: tuple[float, float] | None = None
) -> Scene:
    """Draw the values in their order; the latest dot is the largest.

    Parameters
    ----------
    values : sequence of float
    width, height : float
        Of the drawing. [unit]
    span : (float, float), optional
        Bottom and top of the scale; nought to the largest value where left out.
    """
    low, high = span or (0.0, max([*values, 0.0]) or 1.0)
    bottom, top = height - EDGE, EDGE

    def y_of(value: float) -> float:
        return bottom - (value - low) / ((high - low) or 1.0) * (bottom - top)

    steps = range(int(low), int(high) + 1) if span else (low, high)
    shapes = [Line(0.0, y_of(step), width, y_of(step), Role.AXIS) for step in steps]
    reach = width - 2 * EDGE
    count = len(values)
    across = [width / 2] if count == 1 else [EDGE + reach * n / (count - 1) for n in range(count)]
    points = tuple((x, y_of(value)) for x, value in zip(across, values, strict=True))
    if count > 1:
        shapes.append(Path(points, Role.MEASURE))
    for place, (x, y) in enumerate(points):
        shapes.append(Circle(x, y, 5.0 if place == count - 1 else 3.5, Role.MEASURE_DOT))
    return Scene(width, height, tuple(shapes))
