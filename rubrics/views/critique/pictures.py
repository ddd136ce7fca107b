"""Photos with numbered pins, as a template draws them: places in the photo's own pixels."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from rubrics.models import Remark
from studio.models import Photo

RADIUS_SHARE = 0.042
"""Of a pin, of the photo's longer side: a thumb's width off on a phone, and seen from the back of
a room on a large screen."""
LETTER_SHARE = 1.25
"""Height of a pin's figure, of its radius."""


@dataclass(frozen=True, slots=True)
class Pin:
    """One pin. ``x``, ``y`` in pixels of the photo."""

    number: int
    key: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo, its address, and the pins on it."""

    photo: Photo
    src: str
    number: int
    radius: float
    letter: float
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
) -> list[Picture]:
    """Each photo with the pins of those remarks that point at it."""
    numbered = list(numbered)
    found = []
    for place, photo in enumerate(photos, start=1):
        radius = round(RADIUS_SHARE * max(photo.width, photo.height), 1)
        pins = tuple(
            Pin(
                number,
                remark.box,
                round(remark.x * photo.width, 1),
                round(remark.y * photo.height, 1),
            )
            for number, remark in numbered
            if remark.pin and remark.photo_id == photo.pk
        )
        found.append(
            Picture(photo, address(photo), place, radius, round(LETTER_SHARE * radius, 1), pins)
        )
    return found
