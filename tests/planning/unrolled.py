"""Walls as meshes of flat triangles in space, laid flat one triangle after the other.

Nothing here knows a formula of the planning: only points in space and the distances between them.
"""

import math

import numpy as np


def lay_flat(low, high):
    """Unroll a strip between two lines of points in space, edge by edge.

    Parameters
    ----------
    low, high : ndarray, shape (n, 3)
        Neighbouring points of either edge; a point may stand for several of the other edge.

    Returns
    -------
    ndarray, ndarray, shape (n, 2)
        The same points on paper: the first of ``low`` at (0, 0), the first of ``high`` above it.
    """

    def dist(p, q):
        return float(np.linalg.norm(p - q))

    flat_low, flat_high = [np.zeros(2)], [np.array([0.0, dist(low[0], high[0])])]
    for k in range(len(low) - 1):
        a, b = flat_low[-1], flat_high[-1]
        # The diagonal parts the strip into two triangles: (low k, high k, low k+1), then high k+1.
        c = _apex(a, b, dist(low[k], low[k + 1]), dist(high[k], low[k + 1]))
        d = _apex(c, b, dist(low[k + 1], high[k + 1]), dist(high[k], high[k + 1]))
        flat_low.append(c)
        flat_high.append(d)
    return np.array(flat_low), np.array(flat_high)


def _apex(a, b, from_a, from_b):
    """The point to the right of the way from a to b with these distances to both."""
    if from_a == 0.0:
        return a
    if from_b == 0.0:
        return b
    way = b - a
    length = math.hypot(*way)
    along = (from_a**2 - from_b**2 + length**2) / (2 * length)
    aside = math.sqrt(max(from_a**2 - along**2, 0.0))
    unit = way / length
    return a + along * unit + aside * np.array([unit[1], -unit[0]])


def half_panel(radius, side, corner, depth, steps=2000):
    """Half a panel between two darts: foot and circle where the wall's rulings meet them.

    The wall is the envelope of planes that touch foot and circle alike: a flat triangle on each
    side of the square, and part of a cone at each corner. It can be laid flat without stretching.
    """
    turns = np.linspace(0, np.pi / 4, steps)
    flat = side / 2 - corner
    foot = np.stack(
        [flat + corner * np.sin(turns), flat + corner * np.cos(turns), 0 * turns], axis=1
    )
    circle = np.stack([radius * np.sin(turns), radius * np.cos(turns), depth + 0 * turns], axis=1)
    foot = np.vstack([[0.0, side / 2, 0.0], foot])
    return foot, np.vstack([circle[0], circle])


def cone(foot_radius, rim_radius, height, steps=4000):
    """A round wall once around: points of foot and rim."""
    turns = np.linspace(0, 2 * np.pi, steps)
    ring = np.stack([np.cos(turns), np.sin(turns), 0 * turns], axis=1)
    up = np.array([0.0, 0.0, height])
    return foot_radius * ring, rim_radius * ring + up
