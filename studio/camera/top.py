"""Measures of the rim in a top view: diameter, roundness, place on the mat.

The rim lies above the paper: its size hangs on its height, which a side view of the same piece
tells; alone, the height's wide prior makes the diameter's uncertainty what it is.
"""

import numpy as np

from studio.camera import cup
from studio.camera.solution import Solution
from studio.camera.uncertainty import Measure, propagate, with_floor

DIAMETER_FLOOR_MM = 0.2
ROUND_FLOOR_MM = 0.3  # relief of the clay at the rim, which a caliper would ride on
CENTRE_FLOOR_MM = 0.15
DRAWS = 200


def rim_values(shape: np.ndarray) -> np.ndarray:
    """Mean caliper width and greatest less least caliper width of the model rim [mm]."""
    sweep = np.linspace(0, np.pi, 90, endpoint=False)
    radius = cup.rim_harmonics(np.stack([sweep, sweep + np.pi])) @ shape[cup.OUT_OF_ROUND]
    return np.array([2 * shape[cup.INDEX["rim"]], np.ptp(radius.sum(0))])


def rim(solution: Solution, k: int) -> dict[str, Measure]:
    """Rim measures of top view k; trust is judged elsewhere."""
    n = cup.N_SHAPE
    block = solution.covariance[:n, :n]
    values, spread = propagate(rim_values, solution.shape, block)
    # Greatest less least is never negative: about a round rim the derivative alone says too little.
    some = np.random.default_rng(0).multivariate_normal(
        solution.shape, block, DRAWS, method="eigh", check_valid="ignore"
    )
    roundness_u = float(np.std([rim_values(s)[1] for s in some]))
    centre = solution.grid(k)[cup.FIRST_LIP].mean(0)
    pick = np.zeros((2, n))
    for row, (foot, lean) in enumerate((("x", "lean_x"), ("y", "lean_y"))):
        pick[row, [cup.INDEX[foot], cup.INDEX[lean]]] = 1
    centre_u = float(np.sqrt(np.trace(pick @ block @ pick.T) / 2))
    diameter_u = float(np.sqrt(spread[0, 0]))
    return {
        "rim_diameter_mm": Measure(float(values[0]), with_floor(diameter_u, DIAMETER_FLOOR_MM)),
        "out_of_round_mm": Measure(float(values[1]), with_floor(roundness_u, ROUND_FLOOR_MM)),
        "centre_offset_mm": Measure(
            float(np.hypot(centre[0], centre[1])), with_floor(centre_u, CENTRE_FLOOR_MM)
        ),
    }
