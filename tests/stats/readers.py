"""Two invented readers of invented pieces, with a halo: marks of one piece hang together."""

import numpy as np

CUTS = {
    "a usual class": (-1.2, -0.4, 0.7),
    "a strong class": (-1.6, -0.9, 0.3),
}
"""Where the eye puts the steps between levels 1 to 4, in standard deviations of the pieces."""

HALO = 0.5
"""Share of the variance, of pieces and of readers' errors, that all criteria have in common."""

POINTS = np.array([np.nan, 55, 70, 85, 100])


def read(rng, pieces, criteria, *, error, bias, cuts=CUTS["a usual class"], halo=HALO):
    """Levels of two readers, shape (pieces, criteria) each.

    ``error`` is the spread of a reader's error and ``bias`` what the second adds, in standard
    deviations of the pieces.
    """

    def together():
        common, own = rng.normal(size=(pieces, 1)), rng.normal(size=(pieces, criteria))
        return np.sqrt(halo) * common + np.sqrt(1 - halo) * own

    true = together()
    seen = [true + error * together(), true + error * together() + bias]
    return [1.0 + np.searchsorted(cuts, each) for each in seen]


def percents(levels):
    return POINTS[levels.astype(int)].mean(axis=1)
