"""The room a cup can fill by its masks: where a fit starts.

A block of small cubes is looked up in every mask. What the masks hold in common is the hull; one
mask may be wrong where there are many.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from studio.camera.wheel.seen_photo import SeenPhoto

STEP_MM = 3.0
HALF_MM, LEAST_Z_MM, MOST_Z_MM = 96.0, 1.5, 165.0
HANDLE_DISC_MM = 15.0  # wider than half a handle's opening with strap, narrower than half a cup
LEAST_LEVELS = 8  # 24 mm: no cup is lower
MANY = 5  # from so many photos on, one may be wrong
FULL_SHARE = 0.35  # of the median area: a level below it is handle, slip or nothing


@dataclass(frozen=True)
class Block:
    """Cubes seen by every photo.

    Attributes
    ----------
    inside : ndarray of bool, shape (photos, levels, n, n)
        Rows run along y, columns along x.
    """

    inside: np.ndarray

    def hull(self) -> np.ndarray:
        """What the masks hold, of many photos all but one; bool, shape (levels, n, n)."""
        n = len(self.inside)
        return self.inside.sum(0) >= (n - 1 if n >= MANY else n)


@dataclass(frozen=True)
class Rough:
    """A round cup that fills the hull. [mm]"""

    height: float
    foot: float
    rim: float
    foot_xy: np.ndarray
    rim_xy: np.ndarray


def _across():
    return np.arange(-HALF_MM, HALF_MM + STEP_MM / 2, STEP_MM)


def _levels():
    return np.arange(LEAST_Z_MM, MOST_Z_MM, STEP_MM)


def block(looks: list[SeenPhoto]) -> Block:
    """Look every cube up in every mask; what lies outside of a picture is unknown, so inside."""
    x, z = _across(), _levels()
    cubes = np.stack(np.broadcast_arrays(x, x[:, None], z[:, None, None]), -1)
    inside = []
    for view in looks:
        pixels = view.camera.project(cubes).reshape(-1, 2)
        seen = view.silhouette.inside(view.silhouette.mask | view.silhouette.body, pixels)
        beyond = (pixels < 0).any(1) | (pixels > np.array(view.camera.size) - 1).any(1)
        inside.append((seen | beyond).reshape(cubes.shape[:3]))
    return Block(np.array(inside))


def rough(cubes: Block) -> Rough | None:
    """A round cup that fills the hull without its handle; None where there is none."""
    hull = cubes.hull()
    radius = round(HANDLE_DISC_MM / STEP_MM)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
    x = _across()
    areas, middles = [], []
    for level in hull:
        body = cv2.morphologyEx(level.astype(np.uint8), cv2.MORPH_OPEN, disc) > 0
        areas.append(body.sum() * STEP_MM**2)
        j, i = np.nonzero(body)
        middles.append((x[i].mean(), x[j].mean()) if len(i) else (np.nan, np.nan))
    areas, middles = np.array(areas), np.array(middles)
    some = areas[areas > 0]
    if len(some) < LEAST_LEVELS:
        return None
    full = np.nonzero(areas > FULL_SHARE * np.median(some))[0]
    full = full[: _first_gap(full)]
    if len(full) < LEAST_LEVELS:
        return None
    z, radii = _levels()[full], np.sqrt(areas[full] / np.pi)
    height = float(z[-1] + STEP_MM)
    keep = slice(0, max(len(z) - 2, 3))  # the hull narrows where only a wave of the rim reaches
    line = np.polyfit(z[keep], np.column_stack([radii, middles[full]])[keep], 1)
    low, high = line[1], line[0] * height + line[1]
    return Rough(height, float(low[0]), float(high[0]), low[1:], high[1:])


def _first_gap(numbers):
    gaps = np.nonzero(np.diff(numbers) > 1)[0]
    return int(gaps[0]) + 1 if len(gaps) else len(numbers)
