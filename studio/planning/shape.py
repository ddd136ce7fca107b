"""The relations between the sizes of a cup that one quantity can be solved from. Fired sizes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from studio.ware.volume import MM3_PER_ML, inside_volume, rounded_square

from .wish import PlanError

ROUNDING = 8 - 2 * math.pi
"""By how much a corner radius of 1 shortens the perimeter of a square."""

LARGEST_MM = 1000.0
HALVINGS = 60
"""Halving a metre sixty times is far below any ruler, and takes well under a millisecond."""


def wall_circumference(rim_diameter_mm: float, wall_mm: float) -> float:
    """Circumference at the middle of the wall, π (D − t). [mm]"""
    return math.pi * (rim_diameter_mm - wall_mm)


def foot_perimeter(side_mm: float, wall_mm: float, corner_radius_mm: float) -> float:
    """Perimeter of a squared foot at the middle of its wall. [mm]

    The side is over the flats, outside; the corners are rounded.
    """
    middle = side_mm - wall_mm
    radius = max(corner_radius_mm - wall_mm / 2, 0.0)
    return rounded_square(middle, min(radius, max(middle, 0.0) / 2)).perimeter


def foot_side(perimeter_mm: float, wall_mm: float, corner_radius_mm: float) -> float:
    """Side over the flats of a squared foot of a given mid-wall perimeter. [mm]"""
    radius = max(corner_radius_mm - wall_mm / 2, 0.0)
    middle = (perimeter_mm + ROUNDING * radius) / 4
    if middle < 2 * radius:  # all corner: the circle of this circumference
        middle = perimeter_mm / math.pi
    return middle + wall_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Cup:
    """The fired outside of a cup with its wall. [mm]"""

    height_mm: float
    rim_diameter_mm: float
    foot_side_mm: float
    wall_mm: float
    base_mm: float
    corner_mm: float
    shoulder_mm: float | None = None
    """Height over the table where darts that are shorter than the wall end; straight without."""
    diameters_mm: tuple[tuple[float, float], ...] = ()
    """(height over the table, outside diameter) of a belly or a waist on the way up."""

    has_wall_on_base: bool = True
    """Whether the wall is set on a base of its own, as slabs are; a thrown or pinched one leans
    from the table on."""

    @property
    def rings(self) -> tuple[tuple[float, float], ...]:
        """Where it is round between foot and rim, from below: (height, outside diameter)."""
        found = dict(self.diameters_mm)
        if self.shoulder_mm is not None:
            found[self.shoulder_mm] = self.rim_diameter_mm
        return tuple(sorted((z, d) for z, d in found.items() if self.lift_mm < z < self.height_mm))

    def capacity(self, up_to_mm: float | None = None) -> float:
        """What it holds to the brim, or to a height over the table. [ml]"""
        return self._volume(self.wall_mm, max(self.base_mm, self.lift_mm), up_to_mm)

    def clay_ml(self) -> float:
        """Volume of its wall and base: what it fills less what it holds. [ml]"""
        base = rounded_square(self.foot_side_mm, self.corner_mm).area * self.lift_mm / MM3_PER_ML
        return base + self._volume(0.0, self.lift_mm) - self.capacity()

    @property
    def lift_mm(self) -> float:
        """Height over the table where the wall begins to lean. [mm]"""
        return self.base_mm if self.has_wall_on_base else 0.0

    def _volume(self, wall_mm: float, floor_mm: float, up_to_mm: float | None = None) -> float:
        lift = self.lift_mm
        if self.height_mm <= lift:
            return 0.0
        return inside_volume(
            self.height_mm - lift,
            self.rim_diameter_mm,
            self.foot_side_mm,
            wall_mm,
            floor_mm - lift,
            foot_corner_radius_mm=self.corner_mm,
            diameters_mm=[(z - lift, d) for z, d in self.rings],
            up_to_mm=None if up_to_mm is None else up_to_mm - lift,
        )

    def level_of(self, volume_ml: float) -> float:
        """Height over the table to which a volume fills it. [mm]"""
        return bisect(self.capacity, volume_ml, self.base_mm, self.height_mm, "level")


def bisect(
    rising: Callable[[float], float], wanted: float, low: float, high: float, what: str
) -> float:
    """Where a rising relation takes a wanted value.

    Raises
    ------
    PlanError
        It does not between the two ends; the sentence says on which side.
    """
    if rising(low) > wanted:
        raise PlanError(
            f"Even the smallest {what} gives more than that; ask for more, or hold less."
        )
    if rising(high) < wanted:
        raise PlanError(
            f"Even a {what} of {high:.0f} mm gives less than that; ask for less, or change another."
        )
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if rising(middle) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2
