"""What goes round a piece, unrolled: the handle in the middle, left and right as one faces it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable

from ..layout import DrawingSheet
from ..palette import Role
from ..scene import Line
from ..wording import wrap_half_turn

OPPOSITE_DEG = 180.0
NEARLY_WIDEST = 0.75
"""A gap this share of the widest is wide enough to cut in."""


def cut_at(azimuths_deg: Iterable[float]) -> float:
    """Where it is cut open: between two columns of readings, as near the back as can be. [°]"""
    columns = sorted({a % 360.0 for a in azimuths_deg})
    if not columns:
        return OPPOSITE_DEG
    around_once = [*columns, columns[0] + 360.0]
    gaps = [(b - a, (a + b) / 2) for a, b in itertools.pairwise(around_once) if b > a]
    widest = max(gap for gap, _ in gaps)
    open_enough = [middle for gap, middle in gaps if gap >= widest * NEARLY_WIDEST]
    return min(open_enough, key=lambda m: (round(abs(wrap_half_turn(m - OPPOSITE_DEG)), 6), -m))


def across(cut_deg: float, width: float) -> Callable[[float], float]:
    """A function from an azimuth [°] to its place on the sheet [unit]."""
    return lambda azimuth_deg: ((azimuth_deg - cut_deg) % 360.0) / 360.0 * width


def name_places(
    sheet: DrawingSheet, at: Callable[[float], float], seam_deg: float | None, top: float
) -> None:
    """Handle, seam, right, left and back under a line at ``top``, where there is room."""
    places = [(0.0, "handle"), *([] if seam_deg is None else [(seam_deg, "seam")])]
    for azimuth, words in [*places, (90.0, "right"), (270.0, "left"), (180.0, "back")]:
        x = at(azimuth)
        role = Role.INK if words in ("handle", "seam") else Role.SOFT
        if sheet.label_row(x, top + 17, words, role, anchor="middle"):
            sheet.add(Line(x, top, x, top + 4, Role.CLAY_LINE))
