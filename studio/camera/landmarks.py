"""Where the solved cup shows in a photo: the points that a hand can mend, and the outline.

The points are those of :mod:`studio.camera.by_hand`, so that what the hand moves and what the
camera found are told by the same names.
"""

from collections.abc import Mapping

import numpy as np

from studio.camera import cup
from studio.camera.by_hand import RIM_POINTS, UNKNOWNS, USUAL_BODY
from studio.camera.pose import Camera
from studio.camera.uncertainty import Measure

OUTLINE_STEP = 2
"""Every second of the cup's angles is enough to draw an outline by."""
LEAST_TURN = 1e-9
TIP_SHARE = 0.8
"""How far out the strap's middle is at its tip, as a share of a usual handle's reach."""


def outline(grid: np.ndarray, camera: Camera) -> np.ndarray:
    """Outer outline of the cup without its handle, as a closed line round the picture of it.

    Parameters
    ----------
    grid : ndarray, shape (RINGS, ANGLES, 3)
        The solved surface. [mm]

    Returns
    -------
    ndarray, shape (n, 2)
        Pixels, in the order of a walk around.
    """
    line = cup.contour(grid, camera)
    seen = line.pixels[cup.visible(grid, camera, line)]
    if len(seen) < 3:
        return np.zeros((0, 2))
    middle = seen.mean(0)
    turn = np.arctan2(seen[:, 1] - middle[1], seen[:, 0] - middle[0])
    walk = seen[np.argsort(turn)][::OUTLINE_STEP]
    return np.vstack([walk, walk[:1]])


def side_points(grid: np.ndarray, camera: Camera) -> dict[str, np.ndarray]:
    """The points of a side view, but for the handle's: the body's surface has none. [px]"""
    right, up = _directions(camera, grid)
    rim, foot = camera.project(grid[cup.FIRST_LIP]), camera.project(cup.foot_outline(grid))
    body = camera.project(grid).reshape(-1, 2)
    lip = camera.project(grid[cup.FIRST_LIP :])
    fillet = camera.project(grid[: len(cup.FILLET_PSI) + 1]).reshape(-1, 2)
    near = _column(grid, -_away(camera))
    return {
        "rim_left": rim[np.argmin(rim @ right)],
        "rim_right": rim[np.argmax(rim @ right)],
        "rim_far": lip.reshape(-1, 2)[np.argmax(lip.reshape(-1, 2) @ up)],
        "rim_near": lip[np.argmax(lip[:, near] @ up), near],
        "max_left": body[np.argmin(body @ right)],
        "max_right": body[np.argmax(body @ right)],
        "foot_left": foot[np.argmin(foot @ right)],
        "foot_right": foot[np.argmax(foot @ right)],
        "foot_near": fillet[np.argmin(fillet @ up)],
    }


def top_points(
    grid: np.ndarray, camera: Camera, measures: Mapping[str, Measure]
) -> dict[str, np.ndarray]:
    """The points of a top view; those of the handle only where its direction was measured. [px]"""
    step = cup.ANGLES // len(RIM_POINTS)
    ring = grid[cup.FIRST_LIP]
    out = dict(zip(RIM_POINTS, camera.project(ring[::step]), strict=True))
    azimuth, twist = measures.get("handle_azimuth_deg"), measures.get("handle_twist_deg")
    if azimuth is None or twist is None:
        return out
    height = grid[..., 2].max()
    middle, radius = ring[:, :2].mean(0), np.linalg.norm(ring[:, :2] - ring[:, :2].mean(0), axis=1)
    root = middle + radius.mean() * _direction(azimuth.value)
    out_of_wall = TIP_SHARE * (USUAL_BODY.handle_reach - USUAL_BODY.rim_width / 2)
    tip = root + out_of_wall * _direction(azimuth.value + twist.value)
    for name, place, key in (("handle_root", root, "root_share"), ("handle_tip", tip, "tip_share")):
        out[name] = camera.project(np.array([*place, UNKNOWNS[key][0] * height]))
    return out


def _direction(azimuth_deg: float) -> np.ndarray:
    return np.array([np.cos(np.radians(azimuth_deg)), np.sin(np.radians(azimuth_deg))])


def _away(camera: Camera) -> np.ndarray:
    flat = camera.axis[:2]
    return flat / max(float(np.linalg.norm(flat)), LEAST_TURN)


def _column(grid: np.ndarray, direction: np.ndarray) -> int:
    """The angle of the rim that lies towards a direction from its middle."""
    ring = grid[cup.FIRST_LIP][:, :2]
    return int(np.argmax((ring - ring.mean(0)) @ direction))


def _directions(camera: Camera, grid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Right and up in the picture: how the horizontal across the view shows at the cup."""
    middle = grid.reshape(-1, 3).mean(0)
    ends = camera.project(np.stack([middle - camera.view_right, middle + camera.view_right]))
    right = ends[1] - ends[0]
    right = right / np.linalg.norm(right)
    return right, np.array([right[1], -right[0]])
