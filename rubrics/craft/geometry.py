"""Shapes of hand-built ware: the rounded square of a foot, and the loft from it to a circle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

DIAGONAL_OF_UNIT_SQUARE = math.sqrt(2)

ROUNDING_OF_DIAGONAL = 2 * (DIAGONAL_OF_UNIT_SQUARE - 1)
"""By how much a corner radius of 1 shortens the diagonal of a square with rounded corners."""


@dataclass(frozen=True, slots=True)
class Section:
    """A convex level section of a vessel, by its area [mm²] and perimeter [mm]."""

    area: float
    perimeter: float


def circle(radius: float) -> Section:
    return Section(math.pi * radius * radius, 2 * math.pi * radius)


def rounded_square(side: float, corner_radius: float) -> Section:
    """A square of a given side over its flats, with rounded corners.

    A corner radius beyond half the side gives the circle that it has become.
    """
    r = min(corner_radius, side / 2)
    return Section(side * side - (4 - math.pi) * r * r, 4 * side - (8 - 2 * math.pi) * r)


def loft_volume(below: Section, above: float, height: float, start: float = 0.0) -> float:
    """Volume between a convex section and a circle joined to it by straight lines.

    At a share τ of the height the section is (1 − τ) times the lower plus τ times the circle, as
    point sets. By Steiner's formula its area is (1 − τ)² A + τ (1 − τ) P R + τ² π R², whose
    integral over the height is exact here. For a square of side s it is
    h/3 (s² + 2 s R + π R²); for a circle, the frustum of a cone.

    Parameters
    ----------
    below : Section
        The lower section, A and P.
    above : float
        Radius of the circle on top, R. [mm]
    height : float
        Distance between the two. [mm]
    start : float
        Share of the height at which the volume begins, as at the upper face of a base.

    Returns
    -------
    float
        Volume. [mm³]
    """
    squared, cubed = start * start, start * start * start
    lower = below.area * (1 - start) ** 3 / 3
    mixed = below.perimeter * above * (1 / 6 - squared / 2 + cubed / 3)
    disc = math.pi * above * above * (1 - cubed) / 3
    return height * (lower + mixed + disc)


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
