"""Measures of the body in a side view, from the solved shape.

The shape already lies in space, so a width is the extent across the horizontal view direction, as
a gauge far away would see it: no perspective is left in it.
"""

import numpy as np

from studio.camera import cup
from studio.camera.solution import Solution, place
from studio.camera.uncertainty import Measure, propagate, with_floor

NAMES = ("height_mm", "rim_width_mm", "foot_width_mm", "max_width_mm", "rim_tilt_deg", "lean_deg")
WIDEST_POINTS = 3  # the mean of the outermost three is not one bad edge
RELIEF_RANGE_MM = (-0.2, 0.8)
# What the smooth model leaves out: relief that stands out of the mean wall, the dark gap under
# the foot,
# a lip that is not quite a round. Estimated from the thickness of those details; no source.
FLOOR = {
    "height_mm": 0.35,  # half of a rim's waves, which one view of its far side does not show
    "rim_width_mm": 0.15,
    "foot_width_mm": 0.5,
    "max_width_mm": 0.3,
    "rim_tilt_deg": 0.12,
    "lean_deg": 0.1,
}


def body(shape: np.ndarray, placement: np.ndarray, right: np.ndarray) -> np.ndarray:
    """The six measures of NAMES for one shape, seen across `right`.

    Parameters
    ----------
    shape : ndarray, shape (N_SHAPE,)
    placement : ndarray, shape (3,)
    right : ndarray, shape (3,)
        Horizontal unit vector across the view.

    Returns
    -------
    ndarray, shape (6,)
        mm and degrees.
    """
    grid = place(cup.surface(shape), placement)
    aside = grid @ right
    foot = cup.foot_outline(grid)
    rim = grid[cup.FIRST_LIP]
    i = cup.INDEX
    turn = place(np.array([[shape[i["slope_x"]], shape[i["slope_y"]], 0.0]]), placement * [0, 0, 1])
    height = shape[i["height"]]
    run = (rim - foot).mean(0)
    return np.array(
        [
            height,
            np.ptp(aside[cup.FIRST_LIP :]),
            np.ptp(foot @ right),
            np.ptp(aside, axis=1).max(),  # at one level: a cup that leans is no wider for it
            np.degrees(np.arctan(turn[0] @ right)),
            np.degrees(np.arctan(run @ right / run[2])),
        ]
    )


def measures(solution: Solution, k: int) -> dict[str, Measure]:
    """Body measures of side view k with propagated uncertainties; trust is judged elsewhere."""
    right = solution.cameras[k].view_right
    n = cup.N_SHAPE
    at = np.concatenate([solution.shape, solution.places[k]])
    index = np.r_[:n, n + 3 * k : n + 3 * k + 3]
    covariance = solution.covariance[np.ix_(index, index)]
    values, spread = propagate(lambda p: body(p[:n], p[n:], right), at, covariance)
    u = np.sqrt(np.diag(spread))
    values[NAMES.index("max_width_mm")] += _relief_beyond(solution, k, right)
    out = {}
    for name, value, own in zip(NAMES, values, u, strict=True):
        out[name] = Measure(float(value), with_floor(float(own), FLOOR[name]))
    return out


def _relief_beyond(solution, k, right):
    """How far the relief stands out of the smooth wall where the cup is widest, both sides [mm]."""
    t = solution.traced[k]
    good = np.isfinite(t.offset_px) & (t.line.ring > len(cup.FILLET_PSI))
    smooth = t.line.points_mm[good] @ right
    found = smooth + (t.offset_px / t.px_per_mm * np.sign(t.line.normals[:, 0]))[good]
    total = 0.0
    for sign in (-1, 1):
        ends = [np.sort(sign * v)[-WIDEST_POINTS:].mean() for v in (smooth, found)]
        total += float(np.clip(ends[1] - ends[0], *RELIEF_RANGE_MM))
    return total
