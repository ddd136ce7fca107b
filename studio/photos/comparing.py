"""Two photos of one piece at two stages, at the same scale, and the shrinkage between them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.camera import by_hand
from studio.models import Photo
from studio.photos.camera_findings import Measure
from studio.photos.confirming import FOOT_WIDTH, KINDS, sizes_of
from studio.photos.framing import MARGIN, CropWindow, place_of
from studio.ware.stages import STAGE_PLACE
from studio.ware.turned_foot import was_turned
from studio.ware.uncertainty import COVERAGE_FACTOR

SEEN_ALIKE = ("height_mm", "rim_width_mm", "rim_diameter_mm")
"""Sizes that no turn of the piece changes."""

COMPARED = (*SEEN_ALIKE, "max_width_mm", FOOT_WIDTH)


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
class PhotoPair:
    """Two photos side by side. Without windows one of them cannot be brought to scale.

    ``foot_turned`` says that a squared foot stood with a corner to the camera in one of them, so
    that its widths are not compared.
    """

    first: Photo
    second: Photo
    windows: tuple[CropWindow, CropWindow] | None
    sizes: tuple[Shrunk, ...]
    foot_turned: bool = False

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


def compare(first: Photo, second: Photo) -> PhotoPair:
    """Bring two photos to one scale and tell what shrank between them."""
    places = [place_of(photo) for photo in (first, second)]
    windows = None
    if all(place is not None for place in places):
        reach = MARGIN * max(place.reach_mm for place in places)
        windows = tuple(place.window(reach) for place in places)
    measures = [_measures(photo) for photo in (first, second)]
    found = {key: _shrunk(key, *measures) for key in COMPARED if all(key in m for m in measures)}
    foot_turned = _foot_turned(found)
    if foot_turned:
        del found[FOOT_WIDTH]
    return PhotoPair(first, second, windows, tuple(found.values()), foot_turned)


def _measures(photo: Photo) -> dict[str, Measure]:
    """What can be trusted of a photo, by key."""
    try:
        return {line.key: line.measure for line in sizes_of(photo) if line.measure.trusted}
    except by_hand.PointsError:
        return {}


def _shrunk(key: str, before: Mapping[str, Measure], after: Mapping[str, Measure]) -> Shrunk:
    one, two = before[key], after[key]
    ratio = two.value / one.value
    u = ratio * math.hypot(one.u / one.value, two.u / two.value)
    return Shrunk(KINDS[key].label, one.value, two.value, 100 * (1 - ratio), 100 * u)


def _foot_turned(found: Mapping[str, Shrunk]) -> bool:
    """Whether the foot's two widths cannot both be its side, by what the other sizes shrank."""
    if FOOT_WIDTH not in found:
        return False
    foot, others = found[FOOT_WIDTH], [found[key] for key in SEEN_ALIKE if key in found]
    ratio, u = foot.after / foot.before, foot.u_percent / 100
    return was_turned(ratio, u, [each.after / each.before for each in others])
