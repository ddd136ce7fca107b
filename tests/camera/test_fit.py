"""The spread that single stretches give a solution, beside statsmodels' clustered covariance."""

import numpy as np
import statsmodels.api as sm

from studio.camera import cup, fit
from studio.camera.solution import Traced
from studio.camera.tracing import Normals


def drawn(seed):
    """An outline of 240 points around a middle, and a straight-line fit to offsets along it."""
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(-np.pi, np.pi, 240))
    pixels = 500 + 200 * np.column_stack([np.cos(turn), np.sin(turn)])
    line = cup.Contour(turn, turn, pixels, pixels, np.zeros((240, 3)))
    design = np.column_stack([np.ones(240), np.cos(turn), np.sin(turn)])
    # Errors shared along a stretch, as relief or a shadow makes them.
    shared = rng.normal(0, 1, 400)[np.floor(turn * 8).astype(int)]
    return line, design, shared + rng.normal(0, 0.3, 240)


def test_the_spread_is_that_of_a_fit_with_errors_shared_along_a_stretch():
    line, design, offset = drawn(seed=4)
    offset = offset - design @ np.linalg.lstsq(design, offset, rcond=None)[0]
    none = np.zeros(240)
    traced = Traced(line, None, offset, none, none, np.ones(240), np.ones(240), none > 1)
    here = Normals(design.T @ design, none[:3], 0.0, [design])
    ours = fit._stretch_spread([traced], here)

    around = line.pixels - line.pixels.mean(0)
    share = np.arctan2(around[:, 1], around[:, 0]) / (2 * np.pi) + 0.5
    stretch = (share * fit.STRETCHES).astype(int)
    theirs = sm.OLS(offset, design).fit(
        cov_type="cluster", cov_kwds={"groups": stretch, "use_correction": False}
    )
    groups = len(set(stretch))
    assert np.allclose(ours, theirs.cov_params() * groups / (groups - 1), rtol=1e-9)


def test_a_stretch_that_alone_tells_something_does_not_run_away():
    line, design, offset = drawn(seed=5)
    only = (line.angle > 1.0) & (line.angle < 1.2)
    design = np.column_stack([design, only * 1e-3])  # nothing else tells this unknown
    none = np.zeros(240)
    traced = Traced(line, None, offset, none, none, np.ones(240), np.ones(240), none > 1)
    prior = np.diag([0, 0, 0, 1.0])  # which is known to 1
    here = Normals(design.T @ design + prior, none[:4], 0.0, [design])
    assert fit._stretch_spread([traced], here)[3, 3] < 1.0
