"""A cup drawn on the mat from all sides, by its own formula: no part of what reads it is used.

The wall is a stack of closed curves, the lip a half round on top. Outlines are filled at three
times the picture's size, blended into the mat's picture in linear light, and coded again.
"""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np

from studio.camera.intake import DecodedPhoto
from studio.camera.pose import Camera
from tests.camera import scenes

SIZE = (1000, 750)
FINE = 3
THETA = np.linspace(0, 2 * np.pi, 180, endpoint=False)
WALL, INSIDE = np.array([0.30, 0.16, 0.10]), np.array([0.05, 0.03, 0.02])  # linear light
SHADE = 0.25  # a wall darkens towards its sides


@dataclass(frozen=True)
class Cup:
    """A drawn cup. Lengths in mm, angles in radians.

    The rim's top line is height + tilt cos(t - tilt_to) + saddle cos 2t + lobes cos 3t.
    """

    foot: float = 33.0
    rim: float = 42.0
    height: float = 90.0
    lip: float = 2.0
    x: float = 3.0
    y: float = -2.0
    lean_x: float = 0.0
    lean_y: float = 0.0
    tilt: float = 0.0
    tilt_to: float = 0.0
    saddle: float = 0.0
    lobes: float = 0.0
    oval: float = 0.0
    colour: tuple = tuple(WALL)

    def top(self, t=THETA):
        """Height of the top line."""
        return (self.height + self.tilt * np.cos(t - self.tilt_to)
                + self.saddle * np.cos(2 * t) + self.lobes * np.cos(3 * t))  # fmt: skip

    def ring(self, share, psi=0.0):
        """A closed curve: share of the way up the wall, then psi around the lip; (n, 3)."""
        r = self.foot + share * (self.rim - self.foot) + share * self.oval * np.cos(2 * THETA)
        r = r - self.lip * (1 - np.cos(psi))
        z = share * (self.top() - self.lip) + self.lip * np.sin(psi)
        x, y = self.x + share * self.lean_x, self.y + share * self.lean_y
        return np.stack([x + r * np.cos(THETA), y + r * np.sin(THETA), z], 1)


def camera(azimuth_deg, elevation_deg=22.0, distance_mm=430.0) -> Camera:
    """A camera of the one phone that took all photos."""
    return scenes.camera(elevation_deg, distance_mm, azimuth_deg=azimuth_deg, f35_mm=30.0,
                         size=SIZE, aim=(0.0, 0.0, 25.0))  # fmt: skip


def shoot(cup: Cup, seen_by: Camera, name: str, *, blur_px=0.6, f35=30.0) -> DecodedPhoto:
    """The cup on the mat as a photo."""
    picture = scenes.draw(seen_by, blur_px=0.6, grid=2)
    light = (picture / 255.0) ** 2.2
    outside = _outline(cup, seen_by)
    inside = _opening(cup, seen_by)
    column = np.arange(picture.shape[1])[None, :]
    middle = seen_by.project(np.array([cup.x, cup.y, cup.height / 2]))[0]
    half = np.ptp(np.nonzero(outside.max(0) > 0.5)[0]) / 2
    shade = 1 - SHADE * np.clip(np.abs(column - middle) / half, 0, 1) ** 4
    wall = shade[..., None] * np.array(cup.colour)
    light = light * (1 - outside[..., None]) + wall * outside[..., None]
    light = light * (1 - inside[..., None]) + INSIDE * inside[..., None]
    light = cv2.GaussianBlur(light, (0, 0), blur_px)
    light += np.random.default_rng(len(name)).normal(0, 0.002, light.shape)
    coded = np.round(255 * np.clip(light, 0, 1) ** (1 / 2.2)).astype(np.uint8)
    return DecodedPhoto(name, coded, f35, None)


def around(cup: Cup, count=6, above=True, first_deg=265.0) -> list[DecodedPhoto]:
    """Photos of the cup from all sides and one from above."""
    out = [
        shoot(cup, camera(first_deg + k * 360 / count, 20.0 + 3 * (k % 3)), f"turn{k + 1}.jpg")
        for k in range(count)
    ]
    if above:
        out.append(shoot(cup, camera(268.0, 82.0, 480.0), "top.jpg"))
    return out


def _filled(polygons):
    big = np.zeros((SIZE[1] * FINE, SIZE[0] * FINE), np.uint8)
    for points in polygons:
        at = np.round(((points + 0.5) * FINE - 0.5) * 16).astype(np.int32)
        cv2.fillPoly(big, [at], 255, shift=4)
    return cv2.resize(big, SIZE, interpolation=cv2.INTER_AREA) / 255.0


def _outline(cup, seen_by):
    rings = [cup.ring(s) for s in np.linspace(0, 1, 30)]
    rings += [cup.ring(1.0, psi) for psi in np.radians(np.arange(6, 91, 6))]
    seen = [seen_by.project(r) for r in rings]
    strips = [
        cv2.convexHull(np.concatenate([low, high]).astype(np.float32))[:, 0]
        for low, high in pairwise(seen)
    ]
    return _filled(strips)


def _opening(cup, seen_by):
    """The inside, bounded where lines of sight graze the inner lip."""
    psi = np.pi / 2 + np.radians(seen_by.elevation_deg)
    return _filled([seen_by.project(cup.ring(1.0, min(psi, np.radians(160))))])
