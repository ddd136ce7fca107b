"""Where the piece stands in its photo: a window about it, and how many pixels a millimetre has."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from studio.camera import by_hand
from studio.models import Photo
from studio.photos.confirming import found_of

MARGIN = 1.3
"""A window shows so many times the extent of the piece, handle and all."""
MARGIN_UNSEEN = 1.7
"""As much where only the mat was found and a usual cup is taken to stand on it: a taller or wider
piece still fits."""
LEAST_SHARE = 0.15
"""A window under this share of the photo's shorter side would print as a blur, so the whole photo
is shown instead."""


@dataclass(frozen=True, slots=True)
class CropWindow:
    """The part of a photo to show: a rectangle [px] that is ``width_mm`` wide at the piece."""

    x: float
    y: float
    width: float
    height: float

    @property
    def view_box(self) -> str:
        return f"{self.x:.1f} {self.y:.1f} {self.width:.1f} {self.height:.1f}"


@dataclass(frozen=True, slots=True)
class Place:
    """Where the piece is in a photo, and how many pixels a millimetre has there."""

    x: float
    y: float
    px_per_mm: float
    reach_mm: float
    seen: bool
    """Whether the piece itself was found, rather than the mat alone."""

    def window(self, reach_mm: float) -> CropWindow:
        width = height = reach_mm * self.px_per_mm
        return CropWindow(self.x - width / 2, self.y - height / 2, width, height)


def place_of(photo: Photo) -> Place | None:
    """Where the piece stands; None where the mat was not found."""
    found = found_of(photo)
    camera = found.camera
    if camera is None:
        return None
    body = None
    if photo.view == Photo.View.SIDE:
        body = by_hand.body_of(camera, found.start_points(photo.view))
    seen = body is not None and bool(found.points or found.placed)
    body = body or by_hand.USUAL_BODY
    # At half height the scale is right for the middle of the piece; its far parts are smaller.
    level = body.height / 2 if photo.view == Photo.View.SIDE else body.height
    middle = np.array([body.x, body.y, level])
    across = camera.project(np.stack([middle, middle + camera.view_right]))
    x, y = across[0]
    px_per_mm = float(np.linalg.norm(across[1] - across[0]))
    reach = max(body.height, 2 * body.handle_reach)
    return Place(float(x), float(y), px_per_mm, reach, seen)


Share = tuple[float, float, float, float]
"""Left, top, right, bottom of a window, as shares of the photo's width and height."""


def cup_window(photo: Photo, reach_mm: float | None = None) -> Share | None:
    """The part of a side view that holds the piece and little of the mat.

    Parameters
    ----------
    photo : Photo
    reach_mm : float, optional
        What the window spans at the piece; else as the piece needs it. Photos cut with one reach
        stand at one scale. [mm]

    Returns
    -------
    tuple of four shares, or None
        None where the mat was not found in the photo or it is no side view; with a reach also
        where the piece itself was not found, or the window does not fit into the photo.
    """
    place = place_of(photo)
    if place is None or photo.view != Photo.View.SIDE or (reach_mm and not place.seen):
        return None
    margin = MARGIN if place.seen else MARGIN_UNSEEN
    window = place.window(reach_mm or margin * place.reach_mm)
    inside = (
        window.x >= 0
        and window.y >= 0
        and window.x + window.width <= photo.width
        and window.y + window.height <= photo.height
    )
    if reach_mm is not None and not inside:
        return None
    left, top = max(window.x, 0.0), max(window.y, 0.0)
    right = min(window.x + window.width, photo.width)
    bottom = min(window.y + window.height, photo.height)
    if min(right - left, bottom - top) < LEAST_SHARE * min(photo.width, photo.height):
        return None
    return (
        left / photo.width,
        top / photo.height,
        right / photo.width,
        bottom / photo.height,
    )


def at_one_scale(photos: Iterable[Photo]) -> tuple[tuple[Photo, Share], tuple[Photo, Share]] | None:
    """The earliest and the latest side view whose windows can stand at one scale, as (photo,
    window); None where fewer than two stages can."""
    places = {
        photo.pk: place
        for photo in photos
        if photo.view == Photo.View.SIDE
        and photo.stage
        and (place := place_of(photo)) is not None
        and place.seen
    }
    ordered = sorted(
        (photo for photo in photos if photo.pk in places), key=lambda each: each.stage_order
    )
    if len(ordered) < 2 or ordered[0].stage == ordered[-1].stage:
        return None
    first, last = ordered[0], ordered[-1]
    reach = MARGIN * max(places[first.pk].reach_mm, places[last.pk].reach_mm)
    windows = cup_window(first, reach), cup_window(last, reach)
    if None in windows:
        return None
    return (first, windows[0]), (last, windows[1])
