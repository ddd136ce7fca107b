"""A piece as it stands in a photo: where a direction and a height of it appear there.

Directions are those of the readings: degrees counter-clockwise from the handle, seen from above.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from studio.camera import by_hand
from studio.camera.by_hand import RIM_POINTS, UNKNOWNS, USUAL_BODY, Body
from studio.camera.pose import Camera
from studio.models import Photo
from studio.photos.camera_findings import PhotoFindings
from studio.photos.confirming import found_of

Point = tuple[float, float]
AROUND = 0.12
"""Ground about the piece on every side of a window, as a share of the piece's extent."""
FROM_SQUARE_DEG = 60.0
"""A handle that stands farther from square to a side view than this is not the one that the view
shows at its side; as the camera takes it."""
RING_STEPS = 72


@dataclass(frozen=True, slots=True)
class Box:
    """A part of a photo. [px]"""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class CupInSide:
    """A piece in a side view: a round body whose middle, sizes and handle's direction are known."""

    photo: Photo
    camera: Camera
    body: Body
    handle_deg: float
    """Where the handle points on the mat."""

    def at(self, azimuth_deg: float, height_mm: float, radius_mm: float) -> Point:
        """Where a place of the piece appears. [px]"""
        turn = np.radians(self.handle_deg + azimuth_deg)
        place = np.array(
            [
                self.body.x + radius_mm * np.cos(turn),
                self.body.y + radius_mm * np.sin(turn),
                height_mm,
            ]
        )
        x, y = self.camera.project(place)
        return float(x), float(y)

    def radius_at(self, height_mm: float) -> float:
        """Half the width of the body between foot and rim, straight from one to the other. [mm]"""
        share = float(np.clip(height_mm / self.body.height, 0.0, 1.0))
        return ((1 - share) * self.body.foot_width + share * self.body.rim_width) / 2

    def faces(self, azimuth_deg: float) -> bool:
        """Whether the outside of the wall in this direction is towards the eye."""
        eye = self.camera.azimuth_deg - self.handle_deg
        return bool(np.cos(np.radians(azimuth_deg - eye)) > 0)

    def ring(self, heights_mm: Iterable[float], radius_mm: float) -> list[Point]:
        """A closed line round the piece, by its heights at even steps from the handle on. [px]"""
        heights = list(heights_mm)
        steps = np.arange(len(heights)) * 360.0 / len(heights)
        return [
            self.at(azimuth, height, radius_mm)
            for azimuth, height in zip(steps, heights, strict=True)
        ]

    @property
    def box(self) -> Box:
        """The part of the photo that holds the piece, handle and all."""
        body = self.body
        foot = self.ring([0.0] * RING_STEPS, body.foot_width / 2)
        rim = self.ring([body.height] * RING_STEPS, body.rim_width / 2)
        handle = self.at(0.0, body.height / 2, body.handle_reach)
        return _box([*foot, *rim, handle], self.photo)


@dataclass(frozen=True, slots=True)
class HandleFromAbove:
    """The handle in a view from above: its own line, and the one straight away from the middle."""

    photo: Photo
    root: Point
    tip: Point
    middle: Point
    """The middle of the rim, at the root's level. [px]"""
    true_tip: Point
    """Where the tip would be of a handle that leads straight away from the middle. [px]"""
    rim: tuple[Point, ...]

    @property
    def box(self) -> Box:
        return _box([*self.rim, self.root, self.tip, self.true_tip], self.photo)


def side_view(photos: Iterable[Photo]) -> CupInSide | None:
    """The piece in the first side view that tells where it stands and where its handle points.

    Parameters
    ----------
    photos : iterable of Photo
        Of one piece at one stage.
    """
    photos = list(photos)
    from_above = next(filter(None, map(_handle_deg, photos)), None)
    for photo in photos:
        found = found_of(photo)
        known = {**found.points, **found.placed}
        if photo.view != Photo.View.SIDE or found.camera is None or not known:
            continue
        body = by_hand.body_of(found.camera, found.start_points(photo.view))
        if body is None:
            continue
        handle_deg = _shown_at(found, body, from_above)
        if handle_deg is not None:
            return CupInSide(photo, found.camera, body, handle_deg)
    return None


def handle_from_above(photos: Iterable[Photo], height_mm: float | None) -> HandleFromAbove | None:
    """The handle in the first view from above that tells it.

    Parameters
    ----------
    photos : iterable of Photo
        Of one piece at one stage.
    height_mm : float or None
        The rim above the paper; else that of a usual cup, which moves both lines alike.
    """
    for photo in photos:
        found = found_of(photo)
        points = {**found.points, **found.placed}
        rim = [points[name] for name in RIM_POINTS if name in points]
        told = found.has("handle_twist_deg") or "handle_tip" in found.placed
        if photo.view != Photo.View.TOP or found.camera is None or not told:
            continue
        if len(rim) < len(RIM_POINTS) or not {"handle_root", "handle_tip"} <= points.keys():
            continue
        return _from_above(photo, found.camera, points, rim, height_mm or USUAL_BODY.height)
    return None


def _from_above(photo, camera, points, rim, height_mm: float) -> HandleFromAbove:
    level = height_mm - UNKNOWNS["lip_mm"][0]
    centre, *_ = by_hand.fit_ring(camera.on_plane(np.array(rim, float), level)[:, :2])
    at_root, at_tip = (UNKNOWNS[key][0] * height_mm for key in ("root_share", "tip_share"))
    root = camera.on_plane(np.asarray(points["handle_root"], float), at_root)[:2]
    tip = camera.on_plane(np.asarray(points["handle_tip"], float), at_tip)[:2]
    away = (root - centre) / np.linalg.norm(root - centre)
    straight = root + away * np.linalg.norm(tip - root)
    middle, true_tip = camera.project(np.array([[*centre, at_root], [*straight, at_tip]]))
    return HandleFromAbove(
        photo,
        tuple(points["handle_root"]),
        tuple(points["handle_tip"]),
        tuple(map(float, middle)),
        tuple(map(float, true_tip)),
        tuple(map(tuple, rim)),
    )


def _handle_deg(photo: Photo) -> float | None:
    """Where the handle points on the mat, by a view from above that the camera trusts."""
    found = found_of(photo)
    if photo.view != Photo.View.TOP or not found.has("handle_azimuth_deg"):
        return None
    return found.measures["handle_azimuth_deg"].value


def _shown_at(found: PhotoFindings, body: Body, from_above: float | None) -> float | None:
    """Where the handle of a side view points: towards the side at which a hand placed it, else as
    the view from above says, if that is the side of this one too."""
    camera = found.camera
    right = float(np.degrees(np.arctan2(camera.view_right[1], camera.view_right[0])))
    if "handle_out" in found.placed:
        middle = camera.project(np.array([body.x, body.y, body.height / 2]))[0]
        return right if found.placed["handle_out"][0] > middle else right + 180.0
    if from_above is None:
        return None
    off = abs((from_above - right + 90.0) % 180.0 - 90.0)
    return from_above if off <= FROM_SQUARE_DEG else None


def _box(points: list[Point], photo: Photo) -> Box:
    xs, ys = zip(*points, strict=True)
    ground = AROUND * max(max(xs) - min(xs), max(ys) - min(ys))
    left, top = max(min(xs) - ground, 0.0), max(min(ys) - ground, 0.0)
    right = min(max(xs) + ground, float(photo.width))
    bottom = min(max(ys) + ground, float(photo.height))
    return Box(left, top, right - left, bottom - top)
