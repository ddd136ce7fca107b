"""What a cup holds: the loft from the rounded square of a foot to the circle of a rim.

The one geometry that planning a cup and checking it share. Standard library alone, so that the
craft checks may import it and stay pure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

MM3_PER_ML = 1000.0


class LevelSection(NamedTuple):
    """A convex level section of a vessel, by its area [mm²] and perimeter [mm]."""

    area: float
    perimeter: float


def circle(radius: float) -> LevelSection:
    return LevelSection(math.pi * radius * radius, 2 * math.pi * radius)


def rounded_square(side: float, corner_radius: float) -> LevelSection:
    """A square of a given side over its flats, with rounded corners.

    A corner radius beyond half the side gives the circle that it has become.
    """
    r = min(corner_radius, side / 2)
    return LevelSection(side * side - (4 - math.pi) * r * r, 4 * side - (8 - 2 * math.pi) * r)


def loft_volume(
    area: float, perimeter: float, above: float, height: float, start: float = 0.0
) -> float:
    """Volume between a convex section and a circle joined to it by straight lines. [mm³]

    At a share τ of the height the section is (1 − τ) times the lower plus τ times the circle, as
    point sets. By Steiner's formula its area is (1 − τ)² A + τ (1 − τ) P R + τ² π R², whose
    integral over the height is exact here. For a square of side s it is
    h/3 (s² + 2 s R + π R²); for a circle, the frustum of a cone.

    Parameters
    ----------
    area, perimeter : float
        Of the lower section, A and P. [mm², mm]
    above : float
        Radius of the circle on top, R. [mm]
    height : float
        Distance between the two. [mm]
    start : float
        Share of the height at which the volume begins, as at the upper face of a base.
    """
    squared = start * start
    cubed = squared * start
    lower = area * (1 - start) ** 3 / 3
    mixed = perimeter * above * (1 / 6 - squared / 2 + cubed / 3)
    disc = math.pi * above * above * (1 - cubed) / 3
    return height * (lower + mixed + disc)


def inside_volume(
    height_mm: float,
    rim_diameter_mm: float,
    foot_side_mm: float,
    wall_mm: float,
    base_mm: float,
    *,
    foot_corner_radius_mm: float = 0.0,
    diameters_mm: Sequence[tuple[float, float]] = (),
    up_to_mm: float | None = None,
) -> float:
    """Volume inside a cup that runs straight from a rounded square foot to a round rim. [ml]

    The outside is drawn in by the wall, measured square to it: level by level by a little more
    on a wall that leans. The inside begins on the upper face of the base.

    Parameters
    ----------
    height_mm, rim_diameter_mm, foot_side_mm : float
        Outside sizes; the foot over its flats. [mm]
    wall_mm, base_mm : float
        Thicknesses. [mm]
    foot_corner_radius_mm : float
        Outside radius of the foot's corners. [mm]
    diameters_mm : sequence of (height, outside diameter), from below
        Where the cup is round on the way, as at a belly: the wall runs straight between. [mm]
    up_to_mm : float, optional
        Height over the table of a line that it is filled to; to the brim when left out. [mm]
    """
    volume, z, half = 0.0, 0.0, foot_side_mm / 2
    for top, diameter in (*diameters_mm, (height_mm, rim_diameter_mm)):
        rise, outside = top - z, diameter / 2
        inset = wall_mm * math.hypot(1.0, (outside - half) / rise)
        inside = half - inset if half > inset else 0.0
        if z == 0:
            # Areas and perimeters as bare numbers: an uncertainty asks for them a dozen times.
            corner = min(max(foot_corner_radius_mm - inset, 0.0), inside)
            area = 4 * inside * inside - (4 - math.pi) * corner * corner
            perimeter = 8 * inside - (8 - 2 * math.pi) * corner
        else:
            area, perimeter = math.pi * inside * inside, 2 * math.pi * inside
        radius = outside - inset if outside > inset else 0.0
        start = _share(base_mm - z, rise) if base_mm > z else 0.0
        volume += loft_volume(area, perimeter, radius, rise, start)
        if up_to_mm is not None:
            stop = max(_share(up_to_mm - z, rise), start)
            volume -= loft_volume(area, perimeter, radius, rise, stop)
        z, half = top, outside
    return volume / MM3_PER_ML


def _share(part: float, whole: float) -> float:
    """How much of the whole a part is, from 0 to 1."""
    if part <= 0:
        return 0.0
    return part / whole if part < whole else 1.0
