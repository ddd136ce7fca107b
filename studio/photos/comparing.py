"""Two photos of one piece at two stages, at the same scale, and the shrinkage between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from studio.camera import by_hand
from studio.models import Photo
from studio.photos.confirming import KINDS, sizes_of
from studio.photos.framing import MARGIN, Window, place_of
from studio.ware.stages import STAGE_PLACE
from studio.ware.uncertainty import COVERAGE_FACTOR

COMPARED = ("height_mm", "rim_width_mm", "rim_diameter_mm", "max_width_mm", "foot_width_mm")


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
    places = [place_of(photo) for photo in (first, second)]
    windows = None
    if all(place is not None for place in places):
        reach = MARGIN * max(place.reach_mm for place in places)
        windows = tuple(place.window(reach) for place in places)
    return Comparison(first, second, windows, tuple(_shrunk(first, second)))


def _shrunk(first: Photo, second: Photo):
    both = []
    for photo in (first, second):
        try:
            lines = sizes_of(photo)
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
