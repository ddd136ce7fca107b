"""Plain boxes to lay a page out: below each other, side by side, on a ground.

Lighter than tables, and each knows its height before it is drawn, so that a page can be tried at
one size after the other.
"""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable

from ..palette import CLAY, QUIET

BUTT_CAP = 0


class Gap(Flowable):
    """Room between two blocks."""

    def __init__(self, height: float) -> None:
        super().__init__()
        self.height = height

    def wrap(self, room: float, _height: float = 0.0) -> tuple[float, float]:
        return room, self.height

    def draw(self) -> None:
        """Nothing to draw."""


class Rule(Flowable):
    """A line across."""

    def __init__(self, thick: float, colour: str) -> None:
        super().__init__()
        self.thick, self.colour, self.height = thick, colour, thick
        self.width = 0.0

    def wrap(self, room: float, _height: float = 0.0) -> tuple[float, float]:
        self.width = room
        return room, self.height

    def draw(self) -> None:
        self.canv.setLineCap(BUTT_CAP)
        self.canv.setDash()
        self.canv.setStrokeColor(HexColor(self.colour))
        self.canv.setLineWidth(self.thick)
        self.canv.line(0, self.thick / 2, self.width, self.thick / 2)


class Stack(Flowable):
    """Blocks below each other."""

    def __init__(self, parts: Sequence[Flowable | None]) -> None:
        super().__init__()
        self.parts = [part for part in parts if part is not None]
        self.heights: list[float] = []
        self.height = 0.0

    def wrap(self, room: float, _height: float = 0.0) -> tuple[float, float]:
        self.heights = [part.wrap(room, _height)[1] for part in self.parts]
        self.height = sum(self.heights)
        return room, self.height

    def draw(self) -> None:
        y = self.height
        for part, tall in zip(self.parts, self.heights, strict=True):
            y -= tall
            part.drawOn(self.canv, 0, y)


class Row(Flowable):
    """Blocks side by side, their tops level, with ``gap`` between them.

    One of the ``widths`` may be None: that block takes what the others leave.
    """

    def __init__(
        self, cells: Sequence[Flowable], widths: Sequence[float | None], gap: float
    ) -> None:
        super().__init__()
        self.cells, self.gap = list(cells), gap
        self.asked = list(widths)
        self.widths: list[float] = []
        self.heights: list[float] = []
        self.height = 0.0

    def wrap(self, room: float, _height: float = 0.0) -> tuple[float, float]:
        taken = sum(width for width in self.asked if width is not None)
        left = room - taken - self.gap * (len(self.cells) - 1)
        self.widths = [left if width is None else width for width in self.asked]
        pairs = zip(self.cells, self.widths, strict=True)
        self.heights = [cell.wrap(width, _height)[1] for cell, width in pairs]
        self.height = max(self.heights, default=0.0)
        return room, self.height

    def draw(self) -> None:
        x = 0.0
        for cell, width, tall in zip(self.cells, self.widths, self.heights, strict=True):
            cell.drawOn(self.canv, x, self.height - tall)
            x += width + self.gap


class OnGround(Flowable):
    """A block on a quiet ground with a bar at its left: what asks to be read."""

    PAD_X, PAD_Y, BAR = 10.0, 6.0, 2.5

    def __init__(self, inner: Flowable, *, bar: str = CLAY, ground: str = QUIET) -> None:
        super().__init__()
        self.inner, self.bar, self.ground = inner, bar, ground
        self.width = self.height = 0.0

    def wrap(self, room: float, _height: float = 0.0) -> tuple[float, float]:
        self.width = room
        self.height = self.inner.wrap(room - 2 * self.PAD_X, _height)[1] + 2 * self.PAD_Y
        return room, self.height

    def draw(self) -> None:
        self.canv.setFillColor(HexColor(self.ground))
        self.canv.rect(0, 0, self.width, self.height, stroke=0, fill=1)
        self.canv.setFillColor(HexColor(self.bar))
        self.canv.rect(0, 0, self.BAR, self.height, stroke=0, fill=1)
        self.inner.drawOn(self.canv, self.PAD_X, self.PAD_Y)
