"""Surfaces as grids of points: rings up the form, angles that close upon themselves.

A grid has the shape (rings, angles, 3), in millimetres.
"""

from itertools import pairwise

import cv2
import numpy as np


def normals(grid: np.ndarray) -> np.ndarray:
    """Outward normals, not of unit length; same shape as the grid."""
    around = np.roll(grid, -1, 1) - np.roll(grid, 1, 1)
    along = np.empty_like(grid)
    along[1:-1] = grid[2:] - grid[:-2]
    along[0], along[-1] = grid[1] - grid[0], grid[-1] - grid[-2]
    return np.cross(around, along)


def points_at(grid: np.ndarray, ring: np.ndarray, angle: np.ndarray) -> np.ndarray:
    """Bilinear values of a grid at fractional places; shape (n, k)."""
    rings, angles = grid.shape[:2]
    i = np.clip(np.floor(ring).astype(int), 0, rings - 2)
    j = np.floor(angle).astype(int)
    s, t = (ring - i)[:, None], (angle - j)[:, None]
    j0, j1 = j % angles, (j + 1) % angles
    low = (1 - t) * grid[i, j0] + t * grid[i, j1]
    high = (1 - t) * grid[i + 1, j0] + t * grid[i + 1, j1]
    return (1 - s) * low + s * high


def covered(rings_px: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """Pixels that a solid of rings covers in a picture.

    Every two neighbouring rings are filled together: alone, rings that are seen from the side are
    thin lines with gaps between them.

    Parameters
    ----------
    rings_px : ndarray, shape (rings, n, 2)
        Rings, each of a convex figure, in pixels.
    size : (int, int)
        Width and height of the picture.

    Returns
    -------
    ndarray of uint8, shape (height, width)
        1 on the solid, else 0.
    """
    out = np.zeros(size[::-1], np.uint8)
    whole = np.round(rings_px).astype(np.int32)
    for pair in pairwise(whole):
        cv2.fillConvexPoly(out, cv2.convexHull(np.concatenate(pair)), 1)
    return out
