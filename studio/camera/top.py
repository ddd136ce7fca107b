"""Measures of the rim in a top view: diameter, roundness, place on the mat.

The rim lies above the paper: its size hangs on its height, which a side view of the same piece tells; alone,
the height's wide prior makes the diameter's uncertainty what it is.
"""

import numpy as np

from studio.camera import cup
from studio.camera.fit import Solution
from studio.camera.uncertainty import Measure, propagate, with_floor

DIAMETER_FLOOR_MM = 0.1
ROUND_FLOOR_MM = 0.2  # relief of the clay at the rim, which a caliper would ride on
CENTRE_FLOOR_MM = 0.15
CALIPER_HARMONICS = (2, 4)  # of the radius; odd ones leave a caliper still
MIN_RIM_COVER = 0.6
def rim_values(shape: np.ndarray) -> np.ndarray:
    """Mean caliper width and greatest less least caliper width of the model rim [mm]."""
    i = cup.INDEX
    diameter = 2 * shape[i["rim"]]
    return np.array([diameter, 4 * np.hypot(shape[i["oval_c"]], shape[i["oval_s"]])])


def rim(solution: Solution, k: int) -> dict[str, Measure]:
    """Rim measures of top view k; trust is judged elsewhere."""
    n = cup.N_SHAPE
    values, spread = propagate(rim_values, solution.shape, solution.covariance[:n, :n])
    u = np.sqrt(np.diag(spread))
    ring = solution.grid(k)[cup.FIRST_LIP].mean(0)
    at = [cup.INDEX[c] for c in ("x", "y", "lean_x", "lean_y")]
    block = solution.covariance[np.ix_(at, at)]
    centre_u = np.sqrt(np.trace(np.array([[1, 0, 1, 0], [0, 1, 0, 1]]) @ block
                                @ np.array([[1, 0, 1, 0], [0, 1, 0, 1]]).T) / 2)  # fmt: skip
    roundness = _out_of_round(solution, k)
    return {
        "rim_diameter_mm": Measure(float(values[0]), with_floor(float(u[0]), DIAMETER_FLOOR_MM)),
        "out_of_round_mm": roundness or Measure(float(values[1]), with_floor(float(u[1]), 0.5)),
        "centre_offset_mm": Measure(
            float(np.hypot(ring[0], ring[1])), with_floor(float(centre_u), CENTRE_FLOOR_MM)
        ),
    }


def _out_of_round(solution, k):
    """Greatest less least caliper width, from the rim's edges about the fitted round."""
    t = solution.traced[k]
    at_rim = (t.line.ring >= cup.FIRST_LIP - 1) & np.isfinite(t.offset_px) & (t.weight > 0)
    theta = t.line.angle * 2 * np.pi / cup.ANGLES
    filled = np.histogram(theta[at_rim] % (2 * np.pi), 24, (0, 2 * np.pi))[0] > 0
    if filled.mean() < MIN_RIM_COVER:
        return None
    i = cup.INDEX
    oval = solution.shape[i["oval_c"]], solution.shape[i["oval_s"]]
    radius = (t.offset_px / t.px_per_mm)[at_rim]
    angle = theta[at_rim]
    radius = radius + oval[0] * np.cos(2 * angle) + oval[1] * np.sin(2 * angle)
    columns = [np.ones_like(angle), np.cos(angle), np.sin(angle)]
    for h in CALIPER_HARMONICS:
        columns += [np.cos(h * angle), np.sin(h * angle)]
    design = np.stack(columns, 1)
    keep = np.ones(len(radius), bool)
    for _ in range(3):
        fit, *_ = np.linalg.lstsq(design[keep], radius[keep], rcond=None)
        left = radius - design @ fit
        keep = np.abs(left) < 3 * (1.4826 * np.median(np.abs(left)) + 0.02)
    sweep = np.linspace(0, np.pi, 180, endpoint=False)
    caliper = sum(
        2 * (fit[3 + 2 * m] * np.cos(h * sweep) + fit[4 + 2 * m] * np.sin(h * sweep))
        for m, h in enumerate(CALIPER_HARMONICS)
    )
    # Points nearer than the relief's length share it; the rest average the harmonic's amplitude.
    around = 2 * np.pi * solution.shape[i["rim"]] * filled.mean() / 5.0
    u = 4 * float(left[keep].std()) / np.sqrt(max(around, 4) / 2)
    return Measure(float(np.ptp(caliper)), with_floor(u, ROUND_FLOOR_MM))
