"""A level as four small boxes: as many are full as the level says, so that grey print tells it."""

from __future__ import annotations

from reportlab.graphics import shapes
from reportlab.lib.colors import HexColor

from ..palette import CLAY, EDGE, SHEET

BOX, BETWEEN = 9.0, 2.5
LEVELS = 4
WIDTH = LEVELS * BOX + (LEVELS - 1) * BETWEEN
LINE = 0.8
DASH = [1.6, 1.6]


def boxes(level: int | None) -> shapes.Drawing:
    """Four boxes; all dashed where there is no level."""
    drawing = shapes.Drawing(WIDTH + LINE, BOX + LINE)
    for place in range(LEVELS):
        full = level is not None and place < level
        drawing.add(
            shapes.Rect(
                LINE / 2 + place * (BOX + BETWEEN),
                LINE / 2,
                BOX,
                BOX,
                rx=1.5,
                ry=1.5,
                fillColor=HexColor(CLAY if full else SHEET),
                strokeColor=HexColor(CLAY if full else EDGE),
                strokeWidth=LINE,
                strokeDashArray=DASH if level is None else None,
            )
        )
    return drawing
