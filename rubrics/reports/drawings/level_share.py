"""A bar of levels: how many pieces of a class stand at each, the highest at the left."""

from __future__ import annotations

from collections.abc import Sequence

from ..palette import Role
from ..scene import Rect, Scene, Text

WIDTH, HEIGHT = 300.0, 24.0
LEAST = 15.0
"""A part narrower than this holds no number. [unit]"""
SIZE = 12.0
ROLES = (Role.BOX_FULL, Role.CLAY, Role.BAND, Role.BOX_EMPTY)
"""From level 4 down: each lighter than the one before, so that a grey print tells them apart."""


def level_share(counts: Sequence[int]) -> Scene:
    """Draw the share at each level, with its number where there is room.

    Parameters
    ----------
    counts : sequence of four int
        Pieces at levels 4, 3, 2, 1.
    """
    total = sum(counts)
    shapes: list = []
    left = 0.0
    for role, count in zip(ROLES, counts, strict=True):
        width = WIDTH * count / total if total else 0.0
        if not count:
            continue
        shapes.append(Rect(left, 1.0, width, HEIGHT - 2.0, role))
        if width >= LEAST:
            ink = Role.ON_DARK if role is Role.BOX_FULL else Role.INK
            y = HEIGHT / 2 + SIZE / 3
            shapes.append(
                Text(left + width / 2, y, str(count), ink, SIZE, strong=True, anchor="middle")
            )
        left += width
    if not total:
        shapes.append(Rect(0.0, 1.0, WIDTH, HEIGHT - 2.0, Role.BOX_NONE))
    return Scene(WIDTH, HEIGHT, tuple(shapes))
