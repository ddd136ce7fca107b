"""A small line from project to project: one student's levels, or one measured figure."""

from __future__ import annotations

from collections.abc import Sequence

from ..palette import Role
from ..scene import Circle, Line, Path, Scene

EDGE = 6.0
LEVELS = (1.0, 4.0)
BEYOND = 2.0
"""A figure's scale runs from nought to so many times its limit, for everybody and every time; what
lies above is drawn at the top edge, and its number says how far."""


def course(
    points: Sequence[tuple[int, float]],
    *,
    projects: int,
    width: float,
    height: float,
    limit: float | None = None,
    joined: bool = False,
) -> Scene:
    """Draw one figure of one student over the projects; the latest dot is the largest.

    Parameters
    ----------
    points : sequence of (place, value)
        Place of the project, from 1; two at least. A gap stays where a project has no figure.
    projects : int
        How many projects the page shows: all lines of a page share their places.
    width, height : float
        Of the drawing. [unit]
    limit : float, optional
        Of a measured figure; it is drawn, and sets the scale. Levels 1 to 4 where left out.
    joined : bool
        Whether a line joins the dots; not where it is too early to tell.
    """
    low, high = LEVELS if limit is None else (0.0, BEYOND * limit)
    bottom, top = height - EDGE, EDGE

    def y_of(value: float) -> float:
        return bottom - (min(max(value, low), high) - low) / (high - low) * (bottom - top)

    steps = range(int(low), int(high) + 1) if limit is None else (low,)
    shapes = [Line(0.0, y_of(step), width, y_of(step), Role.AXIS) for step in steps]
    if limit is not None:
        shapes.append(Line(0.0, y_of(limit), width, y_of(limit), Role.PLAN))
    reach = (width - 2 * EDGE) / max(projects - 1, 1)
    dots = tuple((EDGE + reach * (place - 1), y_of(value)) for place, value in points)
    if joined:
        shapes.append(Path(dots, Role.MEASURE))
    for number, (x, y) in enumerate(dots, start=1):
        shapes.append(Circle(x, y, 4.0 if number == len(dots) else 2.75, Role.MEASURE_DOT))
    return Scene(width, height, tuple(shapes))
