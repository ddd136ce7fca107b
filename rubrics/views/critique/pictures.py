"""Photos with numbered pins, as a template draws them: places in the photo's own pixels."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from rubrics.models import Remark
from studio.models import Photo

RADIUS_SHARE = 0.042
"""Of a pin, of the photo's longer side: a thumb's width off on a phone, and seen from the back of
a room on a large screen."""
LETTER_SHARE = 1.25
"""Height of a pin's figure, of its radius."""


DOT_SHARE = 0.3
"""Of the dot that marks the place of a pin moved aside, of a pin's radius."""
RINGS = 3
"""How often a pin steps further out before it may lie on another."""
DIRECTIONS = 12
APART = 2.15
"""Between the middles of two pins, of their radius: a hair more than touching."""


@dataclass(frozen=True, slots=True)
class Pin:
    """One pin, drawn at ``x``, ``y``; its place is ``dx``, ``dy`` from there. [photo px]"""

    number: int
    key: str
    x: float
    y: float
    dx: float = 0.0
    dy: float = 0.0


@dataclass(frozen=True, slots=True)
class PinnedPhoto:
    """A photo, its address, and the pins on it."""

    photo: Photo
    src: str
    number: int
    radius: float
    letter: float
    dot: float
    pins: tuple[Pin, ...]

    @property
    def words(self) -> str:
        """“from the side, leather-hard”."""
        stage = f", {self.photo.stage}" if self.photo.stage else ""
        return f"{self.photo.get_view_display()}{stage}"


def pictures(
    photos: Iterable[Photo],
    numbered: Iterable[tuple[int, Remark]],
    address: Callable[[Photo], str],
) -> list[PinnedPhoto]:
    """Each photo with the pins of those remarks that point at it.

    Pins that would cover each other stand aside, with a line to their place.
    """
    numbered = list(numbered)
    found = []
    for place, photo in enumerate(photos, start=1):
        radius = round(RADIUS_SHARE * max(photo.width, photo.height), 1)
        pins: list[Pin] = []
        for number, remark in numbered:
            if remark.pin and remark.photo_id == photo.pk:
                at = (remark.x * photo.width, remark.y * photo.height)
                x, y = _free_place(at, pins, radius, photo)
                gap = (round(at[0] - x, 1), round(at[1] - y, 1))
                pins.append(Pin(number, remark.box, round(x, 1), round(y, 1), *gap))
        letter, dot = round(LETTER_SHARE * radius, 1), round(DOT_SHARE * radius, 1)
        found.append(PinnedPhoto(photo, address(photo), place, radius, letter, dot, tuple(pins)))
    return found


def _free_place(at, pins: list[Pin], radius: float, photo: Photo) -> tuple[float, float]:
    """The place itself, or the nearest on rings round it where no pin stands yet."""
    for ring in range(RINGS + 1):
        for turn in range(DIRECTIONS if ring else 1):
            angle = 2 * math.pi * turn / DIRECTIONS
            out = APART * radius * ring
            x, y = at[0] + out * math.cos(angle), at[1] + out * math.sin(angle)
            inside = not ring or (
                radius <= x <= photo.width - radius and radius <= y <= photo.height - radius
            )
            if inside and all(math.hypot(x - p.x, y - p.y) >= 2 * radius for p in pins):
                return x, y
    return at
