"""Where the fit of a cup starts: sizes read off a side view's mask, and the place in a top view.

The fit walks downhill, so it must start within a few millimetres of the cup, be it a bowl, a mug
or a tall vase. Nothing that is stated as a measure is read here.
"""

import cv2
import numpy as np

from studio.camera import cup
from studio.camera.pose import Camera
from studio.camera.scene import CameraAxes
from studio.camera.solution import View

LEVELS_MM = np.arange(0.0, 330.0, 2.0)
ASIDE_MM = np.arange(-140.0, 140.5, 1.0)
LEAST_LEVELS = 10
RIM_BAND_MM = 14.0  # the rim is the widest place so far under the top of the mask
FOOT_BAND_MM = (1.0, 7.0)
PLACE_REACH_MM, PLACE_STEP_MM = 30.0, 1.5
SLOPE_PX = 1.5  # blur before the slope, about half a step of the search
MOVED_GAIN = 1.3  # so much more edge along the rim shows that the cup was moved
UNTOUCHED_MM = 2.5  # a better place no farther than this is the same place


def from_side(view: View) -> np.ndarray | None:
    """Shape vector whose outline is about that of the mask of a side view; None if too small."""
    scene, mask = CameraAxes(view.camera), view.silhouette
    flat = scene.right[None, None] * ASIDE_MM[None, :, None]
    shift = 0.0
    for _ in range(2):  # the second time on the upright plane through the cup's own axis
        points = flat + shift * scene.right + LEVELS_MM[:, None, None] * np.array([0, 0, 1.0])
        pixels = view.camera.project(points).reshape(-1, 2)
        inside = mask.inside(mask.body, pixels).reshape(len(LEVELS_MM), -1)
        rows = np.nonzero(inside.any(1))[0]
        if len(rows) < LEAST_LEVELS:
            return None
        left = ASIDE_MM[inside[rows].argmax(1)]
        right = ASIDE_MM[inside.shape[1] - 1 - inside[rows, ::-1].argmax(1)]
        middle = float(np.median((left + right) / 2))
        shift += middle
    # What stands out on one side only is a handle or a shadow, and no part of a round body.
    z, half = LEVELS_MM[rows], np.maximum(np.minimum(right - middle, middle - left), 1.0)
    near_top = z > z.max() - RIM_BAND_MM
    rim = float(half[near_top].max())
    eye = scene.eye
    fall = (eye[2] - z.max()) / np.linalg.norm(eye[:2])
    # The far rim stands behind the axis, so it shows higher on the plane through the axis.
    height = float(z.max() - rim * fall) if fall > 0 else float(z.max())
    if height < z.max() / 2:
        height = float(z.max()) / 2
    low = (z >= FOOT_BAND_MM[0]) & (z <= FOOT_BAND_MM[1])
    foot = float(np.median(half[low])) if low.any() else float(half[0])
    shape = cup.prior_mean()
    place = shift * scene.right
    named = {"x": place[0], "y": place[1], "foot": foot, "rim": rim, "height": height}
    for name, value in named.items():
        shape[cup.INDEX[name]] = value
    at = np.interp(cup.KNOTS_U * height, z, half)
    shape[cup.BELLIES] = 0.5 * (at - (1 - cup.KNOTS_U) * foot - cup.KNOTS_U * rim)
    return shape


def place_in_top(view: View, shape: np.ndarray, camera: Camera) -> np.ndarray:
    """Shift and turn of a cup of known shape in a top view, by the edge all along its rim.

    Returns
    -------
    ndarray, shape (3,)
        Zero where the cup stands as it did; the turn is left to the fit.
    """
    grid = cup.surface(shape)
    line = cup.contour(grid, camera)
    keep = cup.visible(grid, camera, line) & (line.ring >= cup.FIRST_LIP - 1)
    line = cup.Contour(*(getattr(line, f)[keep] for f in line.__dataclass_fields__))
    if not len(line.ring):
        return np.zeros(3)
    steps = np.arange(-PLACE_REACH_MM, PLACE_REACH_MM + 0.1, PLACE_STEP_MM)
    shifts = np.stack(np.meshgrid(steps, steps, [0.0]), -1).reshape(-1, 1, 3)
    across = _slope_across(view, camera.project(line.points_mm + shifts), line.normals)
    score = np.sqrt(across).mean(1)  # the share of the rim with an edge: one bright marker is none
    away = np.hypot(*shifts[:, 0, :2].T)
    best, home = int(score.argmax()), float(score[away <= UNTOUCHED_MM].max())
    if away[best] <= UNTOUCHED_MM or score[best] < MOVED_GAIN * home:
        return np.zeros(3)
    return shifts[best, 0]


def _slope_across(view, pixels, normals):
    """Slope of the picture across the rim at places (m, n, 2), in all colours."""
    low = np.maximum(np.floor(pixels.min((0, 1))).astype(int) - 2, 0)
    high = np.ceil(pixels.max((0, 1))).astype(int) + 3
    window = cv2.GaussianBlur(view.linear[low[1] : high[1], low[0] : high[0]], (0, 0), SLOPE_PX)
    x = np.clip(np.round(pixels[..., 0]).astype(int) - low[0], 0, window.shape[1] - 1)
    y = np.clip(np.round(pixels[..., 1]).astype(int) - low[1], 0, window.shape[0] - 1)
    down, along = (np.gradient(window, axis=k) for k in (0, 1))
    slope = along[y, x] * normals[:, :1] + down[y, x] * normals[:, 1:]
    return np.linalg.norm(slope, axis=-1)
