"""Two looks at the same pieces: the difference of their percents against their mean."""

from __future__ import annotations

from collections.abc import Sequence

from ..layout import DrawingSheet
from ..palette import Role
from ..scene import Circle, Line, Rect, Scene, Text

LEFT, RIGHT, ABOVE, BELOW = 44.0, 8.0, 22.0, 34.0
"""Room for the words beside, over and under the points. [unit]"""
DOT = 4.0
MINUS = "\N{MINUS SIGN}"
FIGURE = 12.0
AIR = 1.15
"""The scale reaches so much further than the widest point or limit."""
SMALLEST_REACH = 5.0
"""Points of percent shown at least either side of none."""


def two_looks(
    percents: Sequence[tuple[float, float]],
    limits: tuple[float, float, float] | None,
    *,
    width: float = 320.0,
    height: float = 240.0,
) -> Scene:
    """Draw second less first against the mean of both, a dot a piece.

    Parameters
    ----------
    percents : sequence of (first, second)
    limits : (low, mean, high), optional
        Limits of agreement and the mean difference between them, in points.

    References
    ----------
    .. [1] J. M. Bland, D. G. Altman, Lancet i (1986) 307-310, figure 2.
    """
    sheet = DrawingSheet(width, height)
    apart = [second - first for first, second in percents]
    widest = max([SMALLEST_REACH, *map(abs, apart), *(map(abs, limits) if limits else ())])
    middle = (ABOVE + height - BELOW) / 2
    half = (height - BELOW - ABOVE) / 2

    def y_of(points: float) -> float:
        return middle - points / (AIR * widest) * half

    def x_of(percent: float) -> float:
        return LEFT + DOT + percent / 100 * (width - LEFT - RIGHT - 2 * DOT)

    if limits:
        low, mean, high = limits
        top = y_of(high)
        sheet.add(Rect(LEFT, top, width - LEFT - RIGHT, y_of(low) - top, Role.BAND))
        for each, role in ((low, Role.BAND_EDGE), (mean, Role.MEASURE), (high, Role.BAND_EDGE)):
            sheet.add(Line(LEFT, y_of(each), width - RIGHT, y_of(each), role))
    sheet.add(Line(LEFT, y_of(0), width - RIGHT, y_of(0), Role.AXIS))
    for (first, second), points in zip(percents, apart, strict=True):
        sheet.add(Circle(x_of((first + second) / 2), y_of(points), DOT, Role.MEASURE_DOT))
    for points in (0.0, *(limits or ())):
        words = f"{points:+.0f}".replace("-", MINUS) if round(points) else "0"
        at = Text(LEFT - 6, y_of(points) + FIGURE / 3, words, Role.SOFT, FIGURE, anchor="end")
        sheet.label(at)
    for percent in (0.0, 50.0, 100.0):
        sheet.label_row(x_of(percent), height - 18, f"{percent:.0f} %", anchor="middle")
    sheet.label_row(width / 2, height - 3, "mean of both looks", anchor="middle")
    sheet.label(Text(2.0, 12.0, "second less first, points", Role.SOFT, FIGURE))
    return sheet.scene()
