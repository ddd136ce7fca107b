"""Outlines of closed surfaces in a picture: any grid of rings, a cup's wall or a strap's skin.

A grid has the shape (rings, angles, 3); rings run up (or along), angles close upon themselves
counter-clockwise seen from the end towards which the rings run.
"""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np

from studio.camera.grid import normals, points_at
from studio.camera.pose import Camera

LEAST_LENGTH = 1e-12


@dataclass(frozen=True)
class Outline:
    """Points of a surface's outline in a picture.

    Attributes
    ----------
    ring, angle : ndarray, shape (n,)
        Place on the grid in fractional steps.
    points_mm : ndarray, shape (n, 3)
    pixels, normals : ndarray, shape (n, 2)
        Place in the picture and outward unit normal.
    """

    ring: np.ndarray
    angle: np.ndarray
    points_mm: np.ndarray
    pixels: np.ndarray
    normals: np.ndarray

    def pick(self, keep: np.ndarray) -> "Outline":
        """The points a mask keeps."""
        return Outline(*(getattr(self, f)[keep] for f in self.__dataclass_fields__))


def outline(grid: np.ndarray, camera: Camera) -> Outline:
    """Where lines of sight graze the surface: where they are square to its normal.

    Hidden parts are included; see `in_front`.
    """
    across = normals(grid)
    facing = ((grid - camera.position_mm) * across).sum(-1)
    ahead = np.roll(facing, -1, 1)
    i, j = np.nonzero((facing > 0) != (ahead > 0))
    k, m = np.nonzero((facing[:-1] > 0) != (facing[1:] > 0))
    ring = np.concatenate([i, k + facing[k, m] / (facing[k, m] - facing[k + 1, m])])
    angle = np.concatenate([j + facing[i, j] / (facing[i, j] - ahead[i, j]), m])
    points = points_at(grid, ring, angle)
    local = points_at(across, ring, angle) @ camera.rotation.T
    length = np.linalg.norm(local[:, :2], axis=1, keepdims=True) + LEAST_LENGTH
    return Outline(ring, angle, points, camera.project(points), local[:, :2] / length)


def drawn(grids_px, low: np.ndarray, size: np.ndarray, step: float = 1.0) -> np.ndarray:
    """Mask of surfaces in a window of the picture: the union of their rings' strips.

    Parameters
    ----------
    grids_px : list of ndarray, shape (rings, angles, 2)
        Projected grids [px].
    low : ndarray, shape (2,)
        The window's upper left corner [px].
    size : (int, int)
        Width and height of the mask.
    step : float
        Picture pixels per mask pixel.
    """
    mask = np.zeros((int(size[1]), int(size[0])), np.uint8)
    for grid in grids_px:
        at_px = np.round((grid - low + 0.5) / step - 0.5).astype(np.int32)
        for lower, upper in pairwise(at_px):
            both = cv2.convexHull(np.concatenate([lower, upper]))
            cv2.fillConvexPoly(mask, both, 1)
    return mask > 0


def in_front(line: Outline, mask: np.ndarray, low: np.ndarray, gap_px: float = 2.5) -> np.ndarray:
    """Which outline points have nothing of the mask just outside of them."""
    probe = np.round(line.pixels + gap_px * line.normals - low).astype(int)
    h, w = mask.shape
    inside = (probe >= 0).all(1) & (probe < [w, h]).all(1)
    probe = np.clip(probe, 0, [w - 1, h - 1])
    return ~(mask[probe[:, 1], probe[:, 0]] & inside)
