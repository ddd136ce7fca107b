"""Lengths along a line that a hand drew on a photo: over the wall in millimetres, else as shares.

A line on the wall is laid on the cone between foot and rim that the sizes tell; where they are not
known, on the upright plane before a usual cup, and the uncertainty says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from studio.camera.by_hand import USUAL_BODY, Sized
from studio.camera.pose import Camera

SAMPLES = 200
"""Places along a drawn line: far finer than a hand draws."""
SMALLEST_PX = 2.0
"""A line shorter than this is a slip of the finger."""
HAND_PX_SHARE = 0.0012
"""How well a hand ends a mark, as a share of the picture's longer side: two pixels of 1600
(common practice, no source)."""
KNOWN_DEPTH_MM, USUAL_DEPTH_MM = 2.0, 10.0
"""How well the wall's distance from the eye is known, with and without the piece's own sizes."""


class LineError(ValueError):
    """A line that gives no length; the message is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class Wall:
    """An upright wall as a cone about an axis at (x, y). [mm]"""

    foot_radius: float
    rim_radius: float
    height: float
    x: float = 0.0
    y: float = 0.0
    known: bool = True


USUAL_WALL = Wall(
    USUAL_BODY.foot_width / 2, USUAL_BODY.rim_width / 2, USUAL_BODY.height, known=False
)


@dataclass(frozen=True, slots=True)
class MarkedPart:
    """One marked part: ``start`` and ``length`` along the line, from its first point."""

    start: Sized
    length: Sized


def shares(line: Sequence[Sequence[float]], parts: Sequence[tuple[float, float]]):
    """Marked parts as shares of the line, in order, overlapping ones merged.

    Parameters
    ----------
    line : sequence of (float, float)
        Corners. [px]
    parts : sequence of (float, float)
        Beginning and end as shares of the line's length in the picture, either way round.

    Returns
    -------
    list of (float, float)

    Raises
    ------
    LineError
        The line has fewer than two points or no length.
    """
    _checked(line)
    ordered = sorted(tuple(np.clip(sorted(part), 0, 1).tolist()) for part in parts)
    merged: list[tuple[float, float]] = []
    for start, end in ordered:
        if end <= start:
            continue
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return merged


def lengths(
    camera: Camera,
    line: Sequence[Sequence[float]],
    parts: Sequence[tuple[float, float]],
    wall: Wall = USUAL_WALL,
) -> tuple[Sized, list[MarkedPart]]:
    """Length of a drawn line on the wall, and of parts of it. [mm]

    Parameters
    ----------
    parts : sequence of (float, float)
        As ``shares`` gives them.

    Raises
    ------
    LineError
        The line leaves the wall, or has no length.
    """
    corners = _checked(line)
    path = _sampled(corners)
    solid = _on_wall(camera, path, wall)
    steps = np.linalg.norm(np.diff(solid, axis=0), axis=1)
    walked = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0, 1, len(path))
    px = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])[-1]
    end_mm = HAND_PX_SHARE * max(camera.size) * walked[-1] / px
    depth_mm = KNOWN_DEPTH_MM if wall.known else USUAL_DEPTH_MM
    share = depth_mm / float(np.linalg.norm(solid.mean(0) - camera.position_mm))

    def sized(start, end) -> Sized:
        length = float(np.interp(end, at, walked) - np.interp(start, at, walked))
        return Sized(length, float(np.hypot(np.sqrt(2) * end_mm, share * length)))

    marked = []
    for start, end in parts:
        begin = sized(0, start)
        marked.append(
            MarkedPart(Sized(begin.value, float(np.hypot(begin.u, end_mm))), sized(start, end))
        )
    return sized(0, 1), marked


def _checked(line) -> np.ndarray:
    corners = np.asarray(line, float).reshape(-1, 2)
    if len(corners) < 2 or not np.isfinite(corners).all():
        raise LineError("Draw the line with at least two points, from the foot up.")
    if np.linalg.norm(np.diff(corners, axis=0), axis=1).sum() < SMALLEST_PX:
        raise LineError("The line has no length yet. Draw it along the seam, from the foot up.")
    return corners


def _sampled(corners: np.ndarray) -> np.ndarray:
    steps = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    walked = np.concatenate([[0.0], np.cumsum(steps)])
    at = np.linspace(0, walked[-1], SAMPLES)
    return np.stack([np.interp(at, walked, corners[:, k]) for k in range(2)], axis=1)


def _on_wall(camera: Camera, pixels: np.ndarray, wall: Wall) -> np.ndarray:
    """Where rays meet the cone on its near side; a ray that passes beside it takes the place where
    it comes nearest to the axis, so that a line that strays over the edge is not lost."""
    rays, eye = camera.rays(pixels), camera.position_mm - np.array([wall.x, wall.y, 0.0])
    slope = (wall.rim_radius - wall.foot_radius) / wall.height
    # x^2 + y^2 = (foot + slope z)^2 along eye + t ray.
    base = wall.foot_radius + slope * eye[2]
    a = rays[:, 0] ** 2 + rays[:, 1] ** 2 - (slope * rays[:, 2]) ** 2
    b = rays[:, 0] * eye[0] + rays[:, 1] * eye[1] - slope * rays[:, 2] * base
    c = eye[0] ** 2 + eye[1] ** 2 - base**2
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    t = (-b - root) / np.where(np.abs(a) < 1e-12, 1e-12, a)
    if (t <= 0).any():
        raise LineError("The line does not lie on the piece. Draw it on the wall that you see.")
    return eye + rays * t[:, None] + np.array([wall.x, wall.y, 0.0])
