"""A cup as the studio makes it: a squared foot that turns into a round, rounded rim.

The surface is a grid of rings. Its outline in a picture is where the line of sight grazes it, so
perspective and the tangent seen on a round wall need no correction afterwards: the rim lies where
it lies, above the paper.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from studio.camera.pose import Camera

KNOTS_U = np.array([0.12, 0.27, 0.42, 0.57, 0.72, 0.87])  # share of the height; 0 foot, 1 rim
NAMES = (
    "x", "y", "foot", "squareness", "foot_turn", "lean_x", "lean_y", "height", "slope_x", "slope_y",
    "rim", "oval_c", "oval_s", "three_c", "three_s", "four_c", "four_s",
    "wave_c", "wave_s", "lip", "round_from",
    *(f"belly{k}" for k in range(len(KNOTS_U))),
)  # fmt: skip
INDEX = {name: k for k, name in enumerate(NAMES)}
N_SHAPE = len(NAMES)

# What is known of a school mug before it is seen: mean and standard deviation [mm, rad, 1]. Wide
# where a
# pupil decides, narrow where a hand cannot do otherwise. Common practice, no source.
PRIOR = {
    "x": (0, 12), "y": (0, 12), "foot": (32, 8), "squareness": (4.5, 1.5), "foot_turn": (0, 3),
    "lean_x": (0, 1.3), "lean_y": (0, 1.3), "height": (92, 15), "slope_x": (0, 0.03),
    "slope_y": (0, 0.03), "rim": (41, 6), "oval_c": (0, 0.3), "oval_s": (0, 0.3),
    "three_c": (0, 0.12), "three_s": (0, 0.12), "four_c": (0, 0.12), "four_s": (0, 0.12),
    "wave_c": (0, 0.1), "wave_s": (0, 0.1), "lip": (2.7, 0.4), "round_from": (0.88, 0.06),
    **{f"belly{k}": (0, 3) for k in range(len(KNOTS_U))},
}  # fmt: skip
BELLY_BEND_SD_MM = 2.5  # of the second difference between knots: a thrown or slab wall is smooth
FILLET_MM = 1.5  # the rounded edge under the foot
# Below this slope the rounding lies in its own shadow, and what shows is a dark edge straight
# under it.
FILLET_SEEN = np.radians(-48)
FOOT_LEVEL_MM = 2.0  # where the foot's outline is measured
ANGLES = 120
BODY_RINGS = 26
FILLET_PSI = np.radians([-90, -90, -90, -48, -30, -14])
FILLET_LIFT_MM = np.array([0.0, 0.01, 0.06, 0.0, 0.0, 0.0])  # the dark edge stands upright ...
FILLET_INWARD_MM = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])  # ... and turns in under the foot
LIP_PSI = np.radians([0, 12, 25, 38, 50, 62, 74, 86, 98, 112])


@dataclass(frozen=True)
class Contour:
    """Points of the outline in a picture.

    Attributes
    ----------
    ring, angle : ndarray, shape (n,)
        Place on the surface grid, in fractional steps.
    pixels, normals : ndarray, shape (n, 2)
        Place in the picture and outward unit normal.
    points_mm : ndarray, shape (n, 3)
    """

    ring: np.ndarray
    angle: np.ndarray
    pixels: np.ndarray
    normals: np.ndarray
    points_mm: np.ndarray


def prior_mean() -> np.ndarray:
    """Shape vector of the cup expected before it is seen."""
    return np.array([PRIOR[name][0] for name in NAMES], float)


def prior_information() -> np.ndarray:
    """Inverse covariance of the prior, the wall's smoothness included."""
    info = np.diag([1 / PRIOR[name][1] ** 2 for name in NAMES])
    knots = [INDEX[f"belly{k}"] for k in range(len(KNOTS_U))]
    for a, b, c in zip(knots[:-2], knots[1:-1], knots[2:], strict=True):
        row = np.zeros(N_SHAPE)
        row[[a, b, c]] = 1, -2, 1
        info += np.outer(row, row) / BELLY_BEND_SD_MM**2
    return info


def _spline_matrix(u):
    """Values at u from the knots (0 at foot and rim), by a natural cubic spline."""
    knots = np.concatenate([[0.0], KNOTS_U, [1.0]])
    n = len(knots)
    h = np.diff(knots)
    a, b = np.eye(n), np.zeros((n, n))
    for i in range(1, n - 1):
        a[i, i - 1 : i + 2] = h[i - 1], 2 * (h[i - 1] + h[i]), h[i]
        b[i, i - 1 : i + 2] = 6 / h[i - 1], -6 / h[i - 1] - 6 / h[i], 6 / h[i]
    bend = np.linalg.solve(a, b)  # second derivatives at the knots
    k = np.clip(np.searchsorted(knots, u, side="right") - 1, 0, n - 2)
    w, t = h[k][:, None], ((u - knots[k]) / h[k])[:, None]
    pick = np.eye(n)
    value = (1 - t) * pick[k] + t * pick[k + 1]
    value += w**2 / 6 * (((1 - t) ** 3 - (1 - t)) * bend[k] + (t**3 - t) * bend[k + 1])
    return value[:, 1:-1]


_BODY_U = np.linspace(0, 1, BODY_RINGS)
RING_U = np.concatenate([np.zeros(len(FILLET_PSI)), _BODY_U, np.ones(len(LIP_PSI) - 1)])
RING_PSI = np.concatenate([FILLET_PSI, np.zeros(BODY_RINGS), LIP_PSI[1:]])
_INWARD, _LIFT = (
    np.concatenate([a, np.zeros(len(RING_U) - len(FILLET_PSI))])
    for a in (FILLET_INWARD_MM, FILLET_LIFT_MM)
)
FIRST_LIP = len(FILLET_PSI) + BODY_RINGS - 1  # the ring where the rounding of the rim begins
RINGS = len(RING_U)
_SPLINE = _spline_matrix(RING_U)
_THETA = np.arange(ANGLES) * 2 * np.pi / ANGLES
OUT_OF_ROUND = slice(INDEX["oval_c"], INDEX["four_s"] + 1)


def rim_harmonics(theta: np.ndarray) -> np.ndarray:
    """How the rim's radius follows the six figures of OUT_OF_ROUND; shape (n, 6)."""
    return np.stack([f(m * theta) for m in (2, 3, 4) for f in (np.cos, np.sin)], -1)


_HARMONICS = rim_harmonics(_THETA)


def surface(shape: np.ndarray) -> np.ndarray:
    """The outer surface as rings from the underside of the foot to the inner side of the lip.

    Parameters
    ----------
    shape : ndarray, shape (N_SHAPE,)
        In the order of NAMES.

    Returns
    -------
    ndarray, shape (RINGS, ANGLES, 3)
        Mat coordinates [mm].
    """
    p = dict(zip(NAMES, shape, strict=True))
    lip, u = p["lip"], RING_U
    bellies = shape[INDEX["belly0"] :]
    half = (1 - u) * p["foot"] + u * p["rim"] + _SPLINE @ bellies
    n = np.clip(p["squareness"], 2.0, 12.0)
    t = _THETA - p["foot_turn"]
    squared = (np.abs(np.cos(t)) ** n + np.abs(np.sin(t)) ** n) ** (-1 / n)
    blend = np.clip(u / np.clip(p["round_from"], 0.3, 1.0), 0, 1)
    roundness = blend * blend * (3 - 2 * blend)
    radius = half[:, None] * ((1 - roundness)[:, None] * squared + roundness[:, None])
    radius = radius + u[:, None] * (_HARMONICS @ shape[OUT_OF_ROUND])
    cos_psi, sin_psi = np.cos(np.maximum(RING_PSI, FILLET_SEEN)), np.sin(RING_PSI)
    bend = np.where(RING_PSI < 0, FILLET_MM, lip)  # radius of the rounding
    radius = radius - (bend * (1 - cos_psi) + _INWARD)[:, None]
    z = _LIFT + FILLET_MM + u * (p["height"] - lip - FILLET_MM) + bend * sin_psi
    x, y = radius * np.cos(_THETA), radius * np.sin(_THETA)
    wave = p["wave_c"] * np.cos(2 * _THETA) + p["wave_s"] * np.sin(2 * _THETA)
    rise = p["slope_x"] * x + p["slope_y"] * y + wave
    return np.stack(
        [
            x + p["x"] + (u * p["lean_x"])[:, None],
            y + p["y"] + (u * p["lean_y"])[:, None],
            z[:, None] + u[:, None] * rise,
        ],
        -1,
    )


def foot_outline(grid: np.ndarray) -> np.ndarray:
    """Outline of the foot at the level where it is measured; shape (ANGLES, 3)."""
    low, high = grid[len(FILLET_PSI)], grid[len(FILLET_PSI) + 1]
    z0, z1 = low[:, 2].mean(), high[:, 2].mean()
    t = (FOOT_LEVEL_MM - z0) / (z1 - z0)
    return (1 - t) * low + t * high


def normals(grid: np.ndarray) -> np.ndarray:
    """Outward normals of a surface grid, not of unit length; same shape."""
    around = np.roll(grid, -1, 1) - np.roll(grid, 1, 1)
    along = np.empty_like(grid)
    along[1:-1] = grid[2:] - grid[:-2]
    along[0], along[-1] = grid[1] - grid[0], grid[-1] - grid[-2]
    return np.cross(around, along)


def at(grid: np.ndarray, ring: np.ndarray, angle: np.ndarray) -> np.ndarray:
    """Bilinear values of a grid at fractional places; shape (n, k)."""
    i = np.clip(np.floor(ring).astype(int), 0, RINGS - 2)
    j = np.floor(angle).astype(int)
    s, t = (ring - i)[:, None], (angle - j)[:, None]
    j0, j1 = j % ANGLES, (j + 1) % ANGLES
    low = (1 - t) * grid[i, j0] + t * grid[i, j1]
    high = (1 - t) * grid[i + 1, j0] + t * grid[i + 1, j1]
    return (1 - s) * low + s * high


def contour(grid: np.ndarray, camera: Camera) -> Contour:
    """Where lines of sight graze the surface: where they are square to its normal.

    Hidden parts are included; see `visible`.
    """
    facing = ((grid - camera.position_mm) * normals(grid)).sum(-1)
    nxt = np.roll(facing, -1, 1)
    i, j = np.nonzero((facing > 0) != (nxt > 0))
    around = i.astype(float), j + facing[i, j] / (facing[i, j] - nxt[i, j])
    k, m = np.nonzero((facing[:-1] > 0) != (facing[1:] > 0))
    up = k + facing[k, m] / (facing[k, m] - facing[k + 1, m]), m.astype(float)
    ring, angle = np.concatenate([around[0], up[0]]), np.concatenate([around[1], up[1]])
    points = at(grid, ring, angle)
    local = at(normals(grid), ring, angle) @ camera.rotation.T
    image_normals = local[:, :2] / (np.linalg.norm(local[:, :2], axis=1, keepdims=True) + 1e-12)
    return Contour(ring, angle, camera.project(points), image_normals, points)


def visible(grid: np.ndarray, camera: Camera, line: Contour, gap_px: float = 1.5) -> np.ndarray:
    """Which contour points lie on the outer outline: just outside of them there is no cup."""

    seen = camera.project(grid)
    low = np.floor(seen.min((0, 1))) - 4
    size = np.ceil(seen.max((0, 1)) - low + 8).astype(int)
    mask = np.zeros(size[::-1], np.uint8)
    for ring in seen:
        cv2.fillPoly(mask, [np.round(ring - low).astype(np.int32)], 1)
    probe = np.round(line.pixels + (gap_px + 1) * line.normals - low).astype(int)
    probe = np.clip(probe, 0, size - 1)
    return mask[probe[:, 1], probe[:, 0]] == 0
