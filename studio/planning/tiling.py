"""A part larger than the paper, cut into tiles that overlap."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .word_places import Window

OVERLAP_MM = 14.0
"""What two neighbouring sheets both show: room for tape, and for a printer's crooked feed. [mm]"""


@dataclass(frozen=True, slots=True)
class Tile:
    """A window of a part, in the part's own millimetres, and its place among its neighbours."""

    x: float
    y: float
    width: float
    height: float
    column: int
    row: int
    columns: int
    rows: int

    @property
    def own(self) -> Window:
        """What of the part this sheet keeps when it is laid over its neighbours on the joins."""
        half = OVERLAP_MM / 2
        left, low = half * (self.column > 0), half * (self.row > 0)
        right, high = half * (self.column < self.columns - 1), half * (self.row < self.rows - 1)
        return Window(
            self.x + left, self.y + low, self.width - left - right, self.height - low - high
        )


def tiles(part_width: float, part_height: float, width: float, height: float) -> list[Tile]:
    """The windows of at most ``width`` by ``height`` that a part takes, row by row from below.

    Neighbours overlap by :data:`OVERLAP_MM`, and together they are exactly as large as the part.
    """
    columns, rows = _split(part_width, width), _split(part_height, height)
    return [
        Tile(x, y, across, up, column, row, len(columns), len(rows))
        for row, (y, up) in enumerate(rows)
        for column, (x, across) in enumerate(columns)
    ]


def _split(whole: float, most: float) -> list[tuple[float, float]]:
    """Where each window begins and how long it is: as long as may be, the last one what is left.

    Equal windows would put the join of two on the pattern's own centre line.
    """
    step = most - OVERLAP_MM
    count = max(1, math.ceil((whole - OVERLAP_MM) / step))
    return [(k * step, min(most, whole - k * step)) for k in range(count)]
