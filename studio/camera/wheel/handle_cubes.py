"""Where the handle is: the cubes beside the wall that every photo shows as cup.

A handle that hides behind or before the wall in one photo stands free in others. Its room, once
known, tells in every photo which stretches of the outline are not the wall's.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from studio.camera.wheel import colours, form
from studio.camera.wheel.seen_photo import SeenPhoto

STEP_MM = 2.0
CLEAR_MM, REACH_MM = (
    4.0,
    colours.ROOM_MM,
)  # beyond the wall: nearer may be relief, farther is no handle
LOW_MM, ABOVE_MM = 4.0, colours.ROOM_ABOVE_MM  # over the paper; over the rim
LEAST_LOOKS = 2  # photos that must see a cube beside the wall
HELD_SHARE = 0.85  # of those; colours may lose a handle once
LEAST_MM3 = 1500.0  # a small handle has five times that
LEAST_REACH_MM = 10.0
JOIN_DEG = 35.0  # cubes farther from the handle's direction are strays
MARGIN_MM = 4.0
BODY_MARGIN_MM = 1.5


@dataclass(frozen=True)
class Room:
    """The handle's room.

    Attributes
    ----------
    cubes_mm : ndarray, shape (n, 3)
        Middles of cubes that belong to it, mat coordinates.
    azimuth : float
        About the cup's axis [rad].
    reach_mm : float
        Beyond the wall.
    low_mm, high_mm : float
        Heights between which it lies.
    """

    cubes_mm: np.ndarray
    azimuth: float
    reach_mm: float
    low_mm: float
    high_mm: float


def find(looks: list[SeenPhoto], cameras: list, masks: list, shape: form.Form) -> Room | None:
    """The handle's room about a form, or None where nothing stands out of it.

    Parameters
    ----------
    masks : list of ndarray
        Where each photo looks like the cup, on the grid of its mask (`colours.like_cup`).
    """
    cubes, beyond = _around(shape)
    seen, held = np.zeros(len(cubes), int), np.zeros(len(cubes), int)
    grid = shape.grid()
    for view, camera, mask in zip(looks, cameras, masks, strict=True):
        pixels, s = camera.project(cubes), view.silhouette
        body, px = colours.drawn_body(view, camera, grid)
        free = ~s.inside(colours.grown(body, BODY_MARGIN_MM * px), pixels)
        free &= (pixels >= 0).all(1) & (pixels <= np.array(camera.size) - 1).all(1)
        seen += free
        held += free & s.inside(mask, pixels)
    least = min(LEAST_LOOKS, len(looks))
    good = (seen >= least) & (held >= np.maximum(HELD_SHARE * seen, np.minimum(least, seen)))
    if good.sum() * STEP_MM**3 < LEAST_MM3:
        return None
    found, out = cubes[good], beyond[good]
    aim = _direction(found, out, shape)
    turned = _angle(found, shape) - aim
    near = np.abs((turned + np.pi) % (2 * np.pi) - np.pi) < np.radians(JOIN_DEG)
    found, out = found[near], out[near]
    if len(found) * STEP_MM**3 < LEAST_MM3 or np.percentile(out, 95) < LEAST_REACH_MM:
        return None
    azimuth = _direction(found, out, shape)
    low, high = np.percentile(found[:, 2], (2, 98))
    return Room(found, azimuth, float(np.percentile(out, 98)), float(low), float(high))


def _around(shape):
    """Cubes outside of the wall and how far out they are."""
    middle = (shape.foot_xy + shape.rim_xy) / 2
    half = float(shape.wall[:, 0].max()) + REACH_MM
    x = np.arange(-half, half, STEP_MM)
    z = np.arange(LOW_MM, float(shape.top_line().max()) + ABOVE_MM, STEP_MM)
    cubes = np.stack(np.broadcast_arrays(x + middle[0], (x + middle[1])[:, None],
                                         z[:, None, None]), -1).reshape(-1, 3)  # fmt: skip
    angle = _angle(cubes, shape)
    u = np.clip(_share(cubes, shape), 0, 1)
    wall = _radius(shape, u, angle)
    out = np.hypot(*(cubes[:, :2] - shape.axis(u)).T) - wall
    keep = (out > CLEAR_MM) & (out < REACH_MM)
    return cubes[keep], out[keep]


def _radius(shape, u, angle):
    """The wall's radius from a table: many cubes share few heights and directions."""
    rows = np.linspace(0, 1, 41)
    table = form.upward(rows) @ shape.wall @ form.circle(form.THETA).T
    i = np.round(u * 40).astype(int)
    j = np.round(angle / (2 * np.pi) * form.ANGLES).astype(int) % form.ANGLES
    return table[i, j]


def _share(cubes, shape):
    top = float(shape.top_line().mean())
    return (cubes[:, 2] - form.FILLET_MM) / (top - shape.lip - form.FILLET_MM)


def _angle(cubes, shape):
    d = cubes[:, :2] - shape.axis(np.clip(_share(cubes, shape), 0, 1))
    return np.arctan2(d[:, 1], d[:, 0])


def _direction(cubes, out, shape):
    angle = _angle(cubes, shape)
    bins = np.exp(1j * angle) * out
    # The densest direction first: a stray at the other side must not turn the mean.
    edges = np.linspace(-np.pi, np.pi, 37)
    count, _ = np.histogram(angle, edges)
    spread = count + np.roll(count, 1) + np.roll(count, -1)
    peak = edges[spread.argmax()] + np.pi / 36
    near = np.abs((angle - peak + np.pi) % (2 * np.pi) - np.pi) < np.radians(JOIN_DEG)
    return float(np.angle(bins[near].sum()))


def covers(room: Room, camera, pixels: np.ndarray) -> np.ndarray:
    """Which picture places the room may cover, with a margin; bool, shape (n,)."""
    at = camera.project(room.cubes_mm)
    depth = float(room.cubes_mm.mean(0) @ camera.rotation[2] + camera.shift_mm[2])
    px = camera.f_px / depth
    low = np.minimum(at.min(0), pixels.min(0)) - 20
    size = np.ceil((np.maximum(at.max(0), pixels.max(0)) + 20 - low) / px).astype(int) + 1
    mask = np.zeros(size[::-1], np.uint8)  # one mask pixel a millimetre at the handle
    i = np.round((at - low) / px).astype(int)
    mask[i[:, 1], i[:, 0]] = 1
    reach = round(CLEAR_MM + MARGIN_MM)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    j = np.round((pixels - low) / px).astype(int)
    return cv2.dilate(mask, disc)[j[:, 1], j[:, 0]] > 0
