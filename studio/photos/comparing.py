"""Two photos of one piece at two stages, at the same scale, and the shrinkage between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from studio.camera import by_hand
from studio.models import Photo
from studio.photos.confirming import KINDS, found_of, lines_of
from studio.ware.stages import STAGE_PLACE
from studio.ware.uncertainty import COVERAGE_FACTOR

MARGIN = 1.3
"""The window shows so many times the extent of the larger piece, handle and all."""
COMPARED = ("height_mm", "rim_width_mm", "rim_diameter_mm", "max_width_mm", "foot_width_mm")


@dataclass(frozen=True, slots=True)
class Window:
    """The part of a photo to show: a rectangle [px] that is ``width_mm`` wide at the piece."""

    x: float
    y: float
    width: float
    height: float

    @property
    def view_box(self) -> str:
        return f"{self.x:.1f} {self.y:.1f} {self.width:.1f} {self.height:.1f}"


@dataclass(frozen=True, slots=True)
class Shrunk:
    """One size at both stages, and the linear shrinkage from the first to the second [%]."""

    label: str
    before: float
    after: float
    percent: float
    u_percent: float

    @property
    def doubt(self) -> float:
        """U of the shrinkage. [%]"""
        return COVERAGE_FACTOR * self.u_percent


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two photos side by side. Without windows one of them cannot be brought to scale."""

    first: Photo
    second: Photo
    windows: tuple[Window, Window] | None
    sizes: tuple[Shrunk, ...]

    @property
    def confirmed(self) -> bool:
        """Whether a hand has confirmed the points of both."""
        return bool(self.first.confirmed_at and self.second.confirmed_at)


def comparable(photos: Sequence[Photo]) -> list[tuple[Photo, Photo]]:
    """Pairs of photos of the same view at two different stages, the earlier stage first."""
    seen = [p for p in photos if p.stage and p.view != Photo.View.DETAIL]
    return [
        (one, other)
        for one in seen
        for other in seen
        if one.view == other.view and STAGE_PLACE[one.stage] < STAGE_PLACE[other.stage]
    ]


def compare(first: Photo, second: Photo) -> Comparison:
    """Bring two photos to one scale and tell what shrank between them."""
    places = [_place(photo) for photo in (first, second)]
    windows = None
    if all(place is not None for place in places):
        reach = MARGIN * max(place.reach_mm for place in places)
        windows = tuple(place.window(reach) for place in places)
    return Comparison(first, second, windows, tuple(_shrunk(first, second)))


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the piece is in a photo, and how many pixels a millimetre has there."""

    x: float
    y: float
    px_per_mm: float
    reach_mm: float

    def window(self, reach_mm: float) -> Window:
        width = height = reach_mm * self.px_per_mm
        return Window(self.x - width / 2, self.y - height / 2, width, height)


def _place(photo: Photo) -> _Place | None:
    found = found_of(photo)
    camera = found.camera
    if camera is None:
        return None
    body = None
    if photo.view == Photo.View.SIDE:
        body = by_hand.body_of(camera, found.start_points(photo.view))
    body = body or by_hand.USUAL_BODY
    # At half height the scale is right for the middle of the piece; its far parts are smaller.
    level = body.height / 2 if photo.view == Photo.View.SIDE else body.height
    middle = np.array([body.x, body.y, level])
    across = camera.project(np.stack([middle, middle + camera.view_right]))
    x, y = across[0]
    px_per_mm = float(np.linalg.norm(across[1] - across[0]))
    return _Place(float(x), float(y), px_per_mm, max(body.height, 2 * body.handle_reach))


def _shrunk(first: Photo, second: Photo):
    both = []
    for photo in (first, second):
        try:
            lines = lines_of(photo)
        except by_hand.PointsError:
            lines = []
        both.append({line.key: line.measure for line in lines if line.measure.trusted})
    before, after = both
    for key in COMPARED:
        if key in before and key in after:
            one, two = before[key], after[key]
            ratio = two.value / one.value
            u = ratio * math.hypot(one.u / one.value, two.u / two.value)
            yield Shrunk(KINDS[key].label, one.value, two.value, 100 * (1 - ratio), 100 * u)
