"""A measure with its standard uncertainty, and how uncertainties are carried through formulas.

References
----------
.. [1] JCGM 100:2008 (GUM), 5.2.2: u^2(y) = g^T V g with g the derivatives of y.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Measure:
    """One measured quantity.

    Attributes
    ----------
    value : float
        In mm or degrees, as the quantity's name says.
    u : float
        Standard uncertainty, the same unit. U = 2u is stated.
    trusted : bool
        Whether the picture carries it; if not, points by hand are asked for.
    """

    value: float
    u: float
    trusted: bool = True


def propagate(
    formula: Callable[[np.ndarray], np.ndarray],
    at: np.ndarray,
    covariance: np.ndarray,
    steps: np.ndarray | float = 1e-4,
) -> tuple[np.ndarray, np.ndarray]:
    """Values of a formula and their covariance from that of its arguments [1]_.

    Parameters
    ----------
    formula : callable
        ndarray, shape (n,) to ndarray, shape (m,).
    at : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
    steps : float or ndarray, shape (n,)
        Half widths of the central differences.

    Returns
    -------
    values : ndarray, shape (m,)
    covariance : ndarray, shape (m, m)

    References
    ----------
    .. [1] JCGM 100:2008, 5.2.2.
    """
    values = np.atleast_1d(formula(at))
    steps = np.broadcast_to(np.asarray(steps, float), at.shape)
    jac = np.empty((len(values), len(at)))
    for k, h in enumerate(steps):
        moved = np.zeros_like(at)
        moved[k] = h
        ahead, behind = formula(at + moved), formula(at - moved)
        jac[:, k] = (np.atleast_1d(ahead) - np.atleast_1d(behind)) / (2 * h)
    return values, jac @ covariance @ jac.T


def with_floor(u: float, *floors: float) -> float:
    """Root sum of squares of a propagated uncertainty and what the model leaves out."""
    return float(np.sqrt(u * u + sum(f * f for f in floors)))
