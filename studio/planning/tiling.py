"""A part larger than the paper, cut into tiles that overlap."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .pattern import Line

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


def clip(line: Line, tile: Tile) -> Line | None:
    """What of a line lies in a window, in the part's millimetres; None for nothing.

    References
    ----------
    .. [1] Y.-D. Liang, B. A. Barsky, ACM Trans. Graph. 3 (1984) 1-22 (from memory).
    """
    dx, dy = line.x1 - line.x0, line.y1 - line.y0
    begin, end = 0.0, 1.0
    for step, room in (
        (-dx, line.x0 - tile.x),
        (dx, tile.x + tile.width - line.x0),
        (-dy, line.y0 - tile.y),
        (dy, tile.y + tile.height - line.y0),
    ):
        if step == 0:
            if room < -1e-9:
                return None
            continue
        share = room / step
        if step < 0:
            begin = max(begin, share)
        else:
            end = min(end, share)
    if begin >= end:
        return None
    return Line(
        line.x0 + begin * dx,
        line.y0 + begin * dy,
        line.x0 + end * dx,
        line.y0 + end * dy,
        line.kind,
    )
