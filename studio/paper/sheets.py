"""Sizes of paper, the typeface on it, and a canvas that measures in millimetres."""

from __future__ import annotations

import io
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from studio.lettering.fonts import SANS, SANS_STRONG, register_fonts
from studio.lettering.setting import cleaned, draw_line, shortened, width_of

SMALLEST_PT, STEP_PT = 6.0, 0.5
"""A line that runs over is set smaller down to here, in these steps, before it is cut."""

LIGHT_GREY = 0.75
"""Ink of what the eye may follow and the camera may overlook: 0 black, 1 white."""


@dataclass(frozen=True, slots=True)
class Paper:
    """One size of paper, upright. ``short_mm`` by ``long_mm``."""

    key: str
    label: str
    short_mm: float
    long_mm: float


PAPERS = {
    paper.key: paper
    for paper in (
        Paper("letter", "US Letter", 215.9, 279.4),  # ANSI/ASME Y14.1, size A: 8.5 by 11 in
        Paper("a4", "A4", 210.0, 297.0),  # ISO 216
    )
}


def _font(strong: bool) -> str:
    return SANS_STRONG if strong else SANS


class PdfSheet:
    """A PDF under way, in millimetres. The origin is wherever ``origin`` puts it on each page."""

    def __init__(
        self, width_mm: float, height_mm: float, *, origin: tuple[float, float], title: str
    ):
        register_fonts()
        self._bytes = io.BytesIO()
        self._origin = origin
        self.canvas = Canvas(
            self._bytes,
            pagesize=(width_mm * mm, height_mm * mm),
            pageCompression=1,
            invariant=1,
            lang="en",
        )
        self.canvas.setTitle(title)
        # The reader of the file is asked not to shrink it to the printer's margins.
        self.canvas.setViewerPreference("PrintScaling", "None")
        self._place()

    def _place(self):
        self.canvas.translate(self._origin[0] * mm, self._origin[1] * mm)

    def next_page(self) -> None:
        self.canvas.showPage()
        self._place()

    def rectangle(self, x: float, y: float, width: float, height: float, grey: float = 0) -> None:
        """A filled rectangle from its lower left corner."""
        self.canvas.setFillGray(grey)
        self.canvas.rect(x * mm, y * mm, width * mm, height * mm, stroke=0, fill=1)

    def line(
        self, x0: float, y0: float, x1: float, y1: float, *, width: float, grey: float = 0
    ) -> None:
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(width * mm)
        self.canvas.line(x0 * mm, y0 * mm, x1 * mm, y1 * mm)

    def circle(self, x: float, y: float, radius: float, *, width: float, grey: float) -> None:
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(width * mm)
        self.canvas.circle(x * mm, y * mm, radius * mm, stroke=1, fill=0)

    def words(
        self, x: float, y: float, text: str, *, size: float, strong=False, at="left", grey=0.0
    ) -> None:
        """One line of text with its baseline at y. Size in points; ``at`` left, middle or right."""
        font = _font(strong)
        text, _ = cleaned(text, font)
        self.canvas.setFillGray(grey)
        before = {"left": 0.0, "middle": 0.5, "right": 1.0}[at]
        left = x * mm - before * width_of(text, size, font)
        draw_line(self.canvas, left, y * mm, text, size=size, font=font)

    def fitted(
        self, x: float, y: float, text: str, *, size: float, room: float, strong=False, **how
    ) -> None:
        """One line no wider than ``room`` [mm]: in smaller type where need be, else cut short."""
        text, _ = cleaned(text, _font(strong))
        while size > SMALLEST_PT and self.width_of(text, size=size, strong=strong) > room:
            size -= STEP_PT
        text = shortened(text, size, room * mm, _font(strong))
        self.words(x, y, text, size=size, strong=strong, **how)

    def width_of(self, text: str, *, size: float, strong=False) -> float:
        """Width of one line of text [mm]."""
        return width_of(text, size, _font(strong)) / mm

    def finish(self) -> bytes:
        self.canvas.showPage()
        self.canvas.save()
        return self._bytes.getvalue()


def draw_cells(sheet: PdfSheet, black, x: float, y: float, side: float, *, ground: bool) -> None:
    """A square pattern of black and white cells as few overlapping rectangles.

    Rows and columns of equal cells are drawn as one bar each, so that no hair of the other colour
    shows between two of them where a screen or a printer rounds.

    Parameters
    ----------
    black : array_like of bool, shape (n, n)
        Row 0 at the top.
    x, y : float
        Lower left corner. [mm]
    side : float
        Of the whole square. [mm]
    ground : bool
        Whether the square is black to begin with and the white cells are drawn; else the black
        cells are drawn on the paper.
    """
    cells = [[bool(cell) for cell in row] for row in black]
    n = len(cells)
    step = side / n
    if ground:
        sheet.rectangle(x, y, side, side)
    wanted, grey = (False, 1) if ground else (True, 0)
    for row, first, length in _runs(cells, wanted):
        sheet.rectangle(x + first * step, y + (n - 1 - row) * step, length * step, step, grey)
    turned = [list(column) for column in zip(*cells, strict=True)]
    for column, first, length in _runs(turned, wanted):
        if length > 1:
            bottom = y + (n - first - length) * step
            sheet.rectangle(x + column * step, bottom, step, length * step, grey)


def _runs(cells, wanted: bool):
    """Row, first cell and length of every unbroken run of cells of one colour."""
    for number, row in enumerate(cells):
        first = None
        for place, cell in enumerate([*row, not wanted]):
            if cell == wanted and first is None:
                first = place
            elif cell != wanted and first is not None:
                yield number, first, place - first
                first = None
