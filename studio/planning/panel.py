"""The wall between two darts, laid flat: how the foot's edge must be cut to stand level.

Below the darts' tips the wall runs straight from a circle down to a rounded square. It is reckoned
strip by strip: each upright strip of clay joins the same share of the circle's quarter and of the
square's, keeps its length on the way from wall to paper, and the foot's edge keeps its length too.
The strips at a dart are shorter than that in the middle of a side, so the edge is no straight line.
All of it at the middle of the wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

STEPS = 48
"""Strips in half a panel. Four times as many move no point of the edge by 0.01 mm."""
SETTLING = 30


@dataclass(frozen=True, slots=True)
class Panel:
    """A panel's lower edge, and what follows from it. [mm]

    ``edge`` runs from the middle of a side to the dart: (along the slab from the middle, below
    the level of the darts' tips). ``side_mm`` is the strip in the middle of a side, ``seam_mm``
    the edge of the dart from its tip to the foot, ``chord_mm`` the panel's foot from dart to dart,
    drawn straight across. ``is_flat`` says that a strip would have to lie flatter than the paper:
    nobody can cut such a foot from one slab.
    """

    edge: tuple[tuple[float, float], ...]
    side_mm: float
    seam_mm: float
    chord_mm: float
    is_flat: bool

    @property
    def depth_mm(self) -> float:
        """How far the dart reaches up from its own mouth, on paper. [mm]"""
        return self.edge[-1][1]

    @property
    def hang_mm(self) -> float:
        """By how much the foot's edge hangs lower in the middle of a side than at a dart. [mm]"""
        return self.edge[0][1] - self.edge[-1][1]


@lru_cache(maxsize=64)
def panel(radius: float, side: float, corner: float, depth: float) -> Panel:
    """Lay a quarter of the wall flat.

    Parameters
    ----------
    radius : float
        Of the circle at the darts' tips. [mm]
    side, corner : float
        The foot over its flats, and the radius of its corners. [mm]
    depth : float
        Height of the tips over the foot. [mm]
    """
    quarter = math.pi * radius / 2
    around = (4 * side - (8 - 2 * math.pi) * corner) / 4
    step = around / 2 / STEPS
    edge, is_flat = [], False
    for k in range(STEPS + 1):
        share = k / STEPS
        length = _strip(radius, side, corner, depth, share=share, around=around)
        top = share * quarter / 2
        if not edge:
            edge.append((0.0, length))
            continue
        (before_x, before_y) = edge[-1]
        x, y = before_x + step, before_y
        for _ in range(SETTLING):
            y = math.sqrt(max(length * length - (top - x) ** 2, 0.0))
            room = step * step - (y - before_y) ** 2
            is_flat |= room < 0
            x = before_x + math.sqrt(max(room, 0.0))
        edge.append((x, y))
    return Panel(
        edge=tuple(edge),
        side_mm=edge[0][1],
        seam_mm=_strip(radius, side, corner, depth, share=1.0, around=around),
        chord_mm=2 * edge[-1][0],
        is_flat=is_flat,
    )


def _strip(radius, side, corner, depth, *, share, around) -> float:
    """Length of the strip at a share of the way from the middle of a side to the dart. [mm]"""
    angle = share * math.pi / 4
    flat, walked = side / 2 - corner, share * around / 2
    if walked <= flat or corner == 0:
        x, y = walked, side / 2
    else:
        turn = (walked - flat) / corner
        x, y = flat + corner * math.sin(turn), flat + corner * math.cos(turn)
    return math.hypot(radius * math.sin(angle) - x, radius * math.cos(angle) - y, depth)
