"""A cup as the studio makes it: a squared foot that turns into a round, rounded rim.

The surface is a grid of rings. Its outline in a picture is where the line of sight grazes it, so
perspective and the tangent seen on a round wall need no correction afterwards: the rim lies where
it lies, above the paper.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from studio.camera.grid import covered, normals, points_at
from studio.camera.pose import Camera

KNOTS_U = np.array([0.05, 0.14, 0.27, 0.42, 0.57, 0.72, 0.87])  # share of the height; 0 foot, 1 rim
NAMES = (
    "x", "y", "foot", "squareness", "foot_turn", "lean_x", "lean_y", "height", "slope_x", "slope_y",
    "rim", "oval_c", "oval_s", "three_c", "three_s", "four_c", "four_s",
    "wave_c", "wave_s", "lip", "lip_flat", "round_from", "bead", "bead_run",
    *(f"belly{k}" for k in range(len(KNOTS_U))),
)  # fmt: skip
INDEX = {name: k for k, name in enumerate(NAMES)}
N_SHAPE = len(NAMES)

# What is known of a school's pots before they are seen: mean and standard deviation [mm, rad, 1].
# Wide where a pupil decides, narrow where a hand cannot do otherwise. Common practice, no source.
PRIOR = {
    "x": (0, 12), "y": (0, 12), "foot": (32, 15), "squareness": (3.5, 1.8), "foot_turn": (0, 3),
    "lean_x": (0, 3.2), "lean_y": (0, 3.2), "height": (92, 40), "slope_x": (0, 0.03),
    "slope_y": (0, 0.03), "rim": (41, 20), "oval_c": (0, 0.8), "oval_s": (0, 0.8),
    "three_c": (0, 0.2), "three_s": (0, 0.2), "four_c": (0, 0.15), "four_s": (0, 0.15),
    "wave_c": (0, 0.15), "wave_s": (0, 0.15), "lip": (2.4, 0.9), "lip_flat": (1.15, 0.15),
    "round_from": (0.88, 0.06),
    "bead": (0, 1.2), "bead_run": (6.0, 1.5),
    **{f"belly{k}": (0, 8) for k in range(len(KNOTS_U))},
}  # fmt: skip
# Figures that a fit may not leave: the formulas hold no farther. An answer at an end is no answer.
RANGE = {"lip": (0.6, 6.0), "rim": (15.0, 140.0), "foot": (10.0, 140.0)}
# How far the first fit, to a mask that may hold a shadow or a piece of the handle, may go from
# the shape it starts with.
NEAR_START = {
    "foot": 8, "lean_x": 1.3, "lean_y": 1.3, "height": 15, "rim": 6, "oval_c": 0.3, "oval_s": 0.3,
    "bead": 0.5, **{f"belly{k}": 3 for k in range(len(KNOTS_U))},
}  # fmt: skip
BELLY_BEND_SD_MM = 5.0  # of the second difference between knots: a wall is smooth
BEND_STEP_U = 0.15  # the knots' usual distance, to which that difference belongs
LEAST_BEAD_RUN_MM = 2.0
FILLET_MM = 1.5  # the rounded edge under the foot
# Below this slope the rounding lies in its own shadow, and what shows is a dark edge straight
# under it.
FILLET_SEEN = np.radians(-48)
FOOT_LEVEL_MM = 2.0  # where the foot's outline is measured
ANGLES = 120
# Rings stand closer under the rim, where a bead swells over a few millimetres.
_BODY_U = np.concatenate([np.linspace(0, 0.84, 20)[:-1], np.linspace(0.84, 1, 11)])
BODY_RINGS = len(_BODY_U)
FILLET_PSI = np.radians([-90, -90, -90, -48, -30, -14])
FILLET_LIFT_MM = np.array([0.0, 0.01, 0.06, 0.0, 0.0, 0.0])  # the dark edge stands upright ...
FILLET_INWARD_MM = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])  # ... and turns in under the foot
LIP_PSI = np.radians([0, 12, 25, 38, 50, 62, 74, 86, 98, 110, 122, 134, 146])


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


def prior_information(near_start: bool = False) -> np.ndarray:
    """Inverse covariance of the prior, the wall's smoothness included.

    Parameters
    ----------
    near_start : bool
        Whether the mean is a shape already read off the picture.
    """
    sds = {name: sd for name, (_, sd) in PRIOR.items()} | (NEAR_START if near_start else {})
    info = np.diag([1 / sds[name] ** 2 for name in NAMES])
    knots = [INDEX[f"belly{k}"] for k in range(len(KNOTS_U))]
    gaps = np.diff(KNOTS_U) / BEND_STEP_U
    for (a, b, c), low, high in zip(
        zip(knots[:-2], knots[1:-1], knots[2:], strict=True), gaps[:-1], gaps[1:], strict=True
    ):
        row = np.zeros(N_SHAPE)
        row[[a, b, c]] = 1 / low, -1 / low - 1 / high, 1 / high  # change of slope over usual steps
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


_FEET, _LIPS = len(FILLET_PSI), len(LIP_PSI) - 1


class _Rings(NamedTuple):
    """What sets the rings of the surface apart: share of the height, turn of the rounding [rad],
    inward and upward shift [mm], and the weights of the belly's knots."""

    u: np.ndarray
    psi: np.ndarray
    inward: np.ndarray
    lift: np.ndarray
    knots: np.ndarray


RING_U = np.concatenate([np.zeros(_FEET), _BODY_U, np.ones(_LIPS)])
_RINGS = _Rings(
    RING_U,
    np.concatenate([FILLET_PSI, np.zeros(BODY_RINGS), LIP_PSI[1:]]),
    np.concatenate([FILLET_INWARD_MM, np.zeros(BODY_RINGS + _LIPS)]),
    np.concatenate([FILLET_LIFT_MM, np.zeros(BODY_RINGS + _LIPS)]),
    _spline_matrix(RING_U),
)
RANGE_AT, RANGES = [INDEX[name] for name in RANGE], np.array(list(RANGE.values()))
FIRST_LIP = len(FILLET_PSI) + BODY_RINGS - 1  # the ring where the rounding of the rim begins
LIP_TOP = FIRST_LIP + 7.5  # rings beyond lie on the lip's inner side, past its top line
RINGS = len(RING_U)
_THETA = np.arange(ANGLES) * 2 * np.pi / ANGLES
OUT_OF_ROUND = slice(INDEX["oval_c"], INDEX["four_s"] + 1)
BELLIES = slice(INDEX["belly0"], INDEX["belly0"] + len(KNOTS_U))


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
    rings = _Rings(*(column[:, None] for column in _RINGS))
    return _raised(shape[None, None], rings, _THETA, _HARMONICS)


def points(shapes: np.ndarray, ring: np.ndarray, angle: np.ndarray) -> np.ndarray:
    """Places of the surface for many shapes at once, without drawing the whole of it.

    Parameters
    ----------
    shapes : ndarray, shape (m, N_SHAPE)
    ring, angle : ndarray, shape (n,)
        Fractional steps on the grid.

    Returns
    -------
    ndarray, shape (m, n, 3)
    """
    i = np.clip(np.floor(ring).astype(int), 0, RINGS - 2)
    t = ring - i
    between = [(c[i].T * (1 - t) + c[i + 1].T * t).T for c in _RINGS]
    theta = angle * 2 * np.pi / ANGLES
    return _raised(shapes[:, None], _Rings(*between), theta, rim_harmonics(theta))


def _raised(shapes, rings, theta, harmonics):
    """The surface's formula over arrays that broadcast; shape (..., 3)."""
    p = {name: shapes[..., k] for k, name in enumerate(NAMES)}
    lip, u = p["lip"], rings.u
    half = (1 - u) * p["foot"] + u * p["rim"] + (rings.knots * shapes[..., BELLIES]).sum(-1)
    under = (1 - u) * (p["height"] - lip - FILLET_MM) / np.maximum(p["bead_run"], LEAST_BEAD_RUN_MM)
    under = np.clip(under, 0, 1)
    half = half - p["bead"] * u * under * under * (3 - 2 * under)  # full width only at the rim
    n = np.clip(p["squareness"], 2.0, 12.0)
    t = theta - p["foot_turn"]
    squared = (np.abs(np.cos(t)) ** n + np.abs(np.sin(t)) ** n) ** (-1 / n)
    blend = np.clip(u / np.clip(p["round_from"], 0.3, 1.0), 0, 1)
    roundness = blend * blend * (3 - 2 * blend)
    radius = half * ((1 - roundness) * squared + roundness)
    radius = radius + u * (harmonics * shapes[..., OUT_OF_ROUND]).sum(-1)
    bend = np.where(rings.psi < 0, FILLET_MM, lip)  # radius of the rounding
    flat = np.where(
        rings.psi < 0, 1.0, p["lip_flat"]
    )  # a lip pressed with leather is no half round
    inward = bend * flat * (1 - np.cos(np.maximum(rings.psi, FILLET_SEEN)))
    radius = radius - (inward + rings.inward)
    z = rings.lift + FILLET_MM + u * (p["height"] - lip - FILLET_MM) + bend * np.sin(rings.psi)
    x, y = radius * np.cos(theta), radius * np.sin(theta)
    wave = p["wave_c"] * np.cos(2 * theta) + p["wave_s"] * np.sin(2 * theta)
    rise = p["slope_x"] * x + p["slope_y"] * y + wave
    return np.stack([x + p["x"] + u * p["lean_x"], y + p["y"] + u * p["lean_y"], z + u * rise], -1)


def foot_outline(grid: np.ndarray) -> np.ndarray:
    """Outline of the foot at the level where it is measured; shape (ANGLES, 3)."""
    low, high = grid[len(FILLET_PSI)], grid[len(FILLET_PSI) + 1]
    z0, z1 = low[:, 2].mean(), high[:, 2].mean()
    t = (FOOT_LEVEL_MM - z0) / (z1 - z0)
    return (1 - t) * low + t * high


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
    points = points_at(grid, ring, angle)
    local = points_at(normals(grid), ring, angle) @ camera.rotation.T
    image_normals = local[:, :2] / (np.linalg.norm(local[:, :2], axis=1, keepdims=True) + 1e-12)
    return Contour(ring, angle, camera.project(points), image_normals, points)


def visible(grid: np.ndarray, camera: Camera, line: Contour, gap_px: float = 1.5) -> np.ndarray:
    """Which contour points lie on the outer outline: just outside of them there is no cup."""

    seen = camera.project(grid)
    low = np.floor(seen.min((0, 1))) - 4
    size = np.ceil(seen.max((0, 1)) - low + 8).astype(int)
    mask = covered(seen - low, tuple(size))
    probe = np.round(line.pixels + (gap_px + 1) * line.normals - low).astype(int)
    probe = np.clip(probe, 0, size - 1)
    return mask[probe[:, 1], probe[:, 0]] == 0
