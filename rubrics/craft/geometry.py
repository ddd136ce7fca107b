"""Shapes of hand-built ware: profiles, and the corners of a foot.

What a cup holds stands in :mod:`studio.ware.volume`, since a plan needs it too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from studio.ware.turned_foot import DIAGONAL_OF_UNIT_SQUARE

ROUNDING_OF_DIAGONAL = 2 * (DIAGONAL_OF_UNIT_SQUARE - 1)
"""By how much a corner radius of 1 shortens the diagonal of a square with rounded corners."""


def profile_radius(height: float, profile: Sequence[tuple[float, float]]) -> float:
    """Radius at a height, by straight lines between (height, radius), held beyond its ends."""
    if height <= profile[0][0]:
        return profile[0][1]
    for (z0, r0), (z1, r1) in pairwise(profile):
        if height <= z1:
            return r0 + (r1 - r0) * (height - z0) / (z1 - z0)
    return profile[-1][1]


def corner_angle(side: float, other_side: float, opposite: float) -> float | None:
    """Angle between two sides by the law of cosines; None for sides that cannot meet. [°]"""
    cosine = (side**2 + other_side**2 - opposite**2) / (2 * side * other_side)
    return math.degrees(math.acos(cosine)) if -1 <= cosine <= 1 else None


def rounding_allowance(sides: Sequence[float], diagonals: Sequence[float]) -> float:
    """By how much rounding shortens each diagonal of a four-sided foot. [mm]

    Full diagonals p, q of a quadrilateral satisfy p² + q² + 4 m² = the sum of the squared sides,
    m being the distance between the middles of the diagonals: a few tenths of a millimetre in
    something meant to be square, so that 4 m² is left out. What the read diagonals lack of it,
    shared alike, is the rounding. Sharp corners give 0, never less.

    References
    ----------
    .. [1] L. Euler's theorem on the four sides and the diagonals of a quadrilateral (from memory).
    """
    total = math.fsum(diagonals)
    lack = math.fsum(s * s for s in sides) - math.fsum(d * d for d in diagonals)
    root = total * total + 2 * lack
    return max(0.0, (math.sqrt(root) - total) / 2) if root > 0 else 0.0
