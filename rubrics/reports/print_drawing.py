"""The same scene for paper: a ReportLab flowable that paints on the canvas."""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from studio.lettering.fonts import SANS, SANS_STRONG, register_fonts
from studio.lettering.setting import cleaned, draw_line, width_of

from .palette import LOOKS, Style
from .scene import Circle, Line, Mark, Path, Rect, Scene, Text, bezier, scaled

POINTS_PER_UNIT = 0.75
"""A CSS pixel is 1/96 in, a point 1/72 in: at this factor a drawing is as large as on a page."""

ROUND_CAP = ROUND_JOIN = 1


def to_reportlab(scene: Scene, *, width: float | None = None) -> PrintedScene:
    """Make a scene a flowable that a PDF's story or canvas can take.

    Parameters
    ----------
    scene : Scene
    width : float, optional
        How wide it shall be; as large as on a page when left out. [pt]
    """
    return PrintedScene(scene, POINTS_PER_UNIT if width is None else width / scene.width)


class PrintedScene(Flowable):
    """A scene on paper. It sets no font but the embedded ones, so that nothing else is asked for.

    (ReportLab's own graphics would: they begin every drawing in a font that is not embedded.)
    """

    def __init__(self, scene: Scene, factor: float) -> None:
        super().__init__()
        register_fonts()
        self._scene, self._factor = scaled(scene, factor), factor
        self.width, self.height = self._scene.width, self._scene.height

    def wrap(self, *_room: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        canvas.setLineCap(ROUND_CAP)
        canvas.setLineJoin(ROUND_JOIN)
        for mark in self._scene.marks:
            look = LOOKS[mark.role]
            if isinstance(mark, Text):
                self._write(canvas, mark, look)
            else:
                self._dip(canvas, look)
                self._paint(canvas, mark, look)

    def _write(self, canvas: Canvas, text: Text, look: Style) -> None:
        font = SANS_STRONG if text.strong else SANS
        printed, _ = cleaned(text.words, font)
        canvas.setFillColor(HexColor(look.fill))
        share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
        left = text.x - share * width_of(printed, text.size, font)
        draw_line(canvas, left, self.height - text.y, printed, size=text.size, font=font)

    def _dip(self, canvas: Canvas, look: Style) -> None:
        """Take up the colours, the width and the dash of a role."""
        if look.fill:
            canvas.setFillColor(HexColor(look.fill))
        if look.stroke:
            canvas.setStrokeColor(HexColor(look.stroke))
            canvas.setLineWidth(look.width * self._factor)
            canvas.setDash([length * self._factor for length in look.dash])

    def _paint(self, canvas: Canvas, mark: Mark, look: Style) -> None:
        """Turn a mark upside down, since paper counts from below, and paint it."""
        how = {"stroke": int(look.stroke is not None), "fill": int(look.fill is not None)}
        match mark:
            case Line(x1, y1, x2, y2):
                canvas.line(x1, self.height - y1, x2, self.height - y2)
            case Circle(x, y, r):
                canvas.circle(x, self.height - y, r, **how)
            case Rect(x, y, width, height, _, 0.0):
                canvas.rect(x, self.height - y - height, width, height, **how)
            case Rect(x, y, width, height, _, radius):
                canvas.roundRect(x, self.height - y - height, width, height, radius, **how)
            case Path():
                canvas.drawPath(self._outline(canvas, mark), **how)

    def _outline(self, canvas: Canvas, path: Path):
        drawn = canvas.beginPath()
        (x, y), *rest = path.points
        drawn.moveTo(x, self.height - y)
        if path.smooth:
            for pair in bezier(path):
                drawn.curveTo(*(part for px, py in pair for part in (px, self.height - py)))
        else:
            for px, py in rest:
                drawn.lineTo(px, self.height - py)
        if path.closed:
            drawn.close()
        return drawn
