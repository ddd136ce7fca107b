"""A level as four small boxes: as many are full as the level says, so that grey print tells it."""

from __future__ import annotations

from ..palette import Role
from ..scene import Rect, Scene

BOX, BETWEEN, RADIUS = 12.0, 3.0, 2.0
EDGE_ROOM = 0.75
"""Room for the line round a box. [unit]"""
LEVELS = 4
WIDTH = LEVELS * BOX + (LEVELS - 1) * BETWEEN + 2 * EDGE_ROOM
HEIGHT = BOX + 2 * EDGE_ROOM


def level_boxes(level: int | None) -> Scene:
    """Four boxes; all dashed where there is no level."""

    def role(place: int) -> Role:
        if level is None:
            return Role.BOX_NONE
        return Role.BOX_FULL if place < level else Role.BOX_EMPTY

    return Scene(
        WIDTH,
        HEIGHT,
        tuple(
            Rect(EDGE_ROOM + place * (BOX + BETWEEN), EDGE_ROOM, BOX, BOX, role(place), RADIUS)
            for place in range(LEVELS)
        ),
    )
