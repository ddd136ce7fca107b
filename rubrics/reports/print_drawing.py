"""The same scene for paper: a ReportLab drawing, which is a flowable."""

from __future__ import annotations

from reportlab.graphics import shapes
from reportlab.lib.colors import HexColor

from .fonts import SANS, SANS_STRONG, printable, register_fonts
from .palette import LOOKS, Look
from .scene import Circle, Line, Mark, Path, Rect, Scene, Text, bezier, scaled

POINTS_PER_UNIT = 0.75
"""A CSS pixel is 1/96 in, a point 1/72 in: at this factor a drawing is as large as on a page."""

ROUND_CAP = ROUND_JOIN = 1


def to_reportlab(scene: Scene, *, width: float | None = None) -> shapes.Drawing:
    """Make a scene a drawing that a PDF's story or canvas can take.

    Parameters
    ----------
    scene : Scene
    width : float, optional
        How wide it shall be; as large as on a page when left out. [pt]
    """
    register_fonts()
    factor = POINTS_PER_UNIT if width is None else width / scene.width
    sized = scaled(scene, factor)
    drawing = shapes.Drawing(sized.width, sized.height)
    for mark in sized.marks:
        drawing.add(_shape(mark, sized.height, factor))
    return drawing


def _shape(mark: Mark, height: float, factor: float) -> shapes.Shape:
    """Turn a mark upside down: paper counts from below."""
    look = LOOKS[mark.role]
    match mark:
        case Line(x1, y1, x2, y2):
            shape = shapes.Line(x1, height - y1, x2, height - y2)
        case Path():
            shape = _path(mark, height)
        case Circle(x, y, r):
            shape = shapes.Circle(x, height - y, r)
        case Rect(x, y, w, h, _, radius):
            shape = shapes.Rect(x, height - y - h, w, h, rx=radius, ry=radius)
        case Text(x, y, words):
            printed, _ = printable(words)
            return shapes.String(
                x,
                height - y,
                printed,
                fontName=SANS_STRONG if mark.strong else SANS,
                fontSize=mark.size,
                textAnchor=mark.anchor,
                fillColor=HexColor(look.fill),
            )
    _paint(shape, look, factor)
    return shape


def _path(path: Path, height: float) -> shapes.Path:
    drawn = shapes.Path()
    (x, y), *rest = path.points
    drawn.moveTo(x, height - y)
    if path.smooth:
        for (ax, ay), (bx, by), (ex, ey) in bezier(path):
            drawn.curveTo(ax, height - ay, bx, height - by, ex, height - ey)
    else:
        for px, py in rest:
            drawn.lineTo(px, height - py)
    if path.closed:
        drawn.closePath()
    return drawn


def _paint(shape: shapes.Shape, look: Look, factor: float) -> None:
    shape.strokeColor = HexColor(look.stroke) if look.stroke else None
    shape.strokeWidth = look.width * factor
    shape.strokeLineCap = ROUND_CAP
    shape.strokeLineJoin = ROUND_JOIN
    shape.strokeDashArray = [length * factor for length in look.dash] or None
    if not isinstance(shape, shapes.Line):
        shape.fillColor = HexColor(look.fill) if look.fill else None
