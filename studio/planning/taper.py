"""A round wall that widens or narrows from foot to rim: laid flat it is a piece of a ring."""

from __future__ import annotations

import math
from dataclasses import dataclass

STRAIGHT_MM = 0.1
"""Foot and rim that differ by less make a straight cylinder: no cut is finer. [mm]"""


@dataclass(frozen=True, slots=True)
class Taper:
    """The mid-wall of a frustum of a cone laid flat. [mm] and radians

    Exact: a cone unrolls without stretching. ``slant`` is the wall's length from foot to rim,
    ``outer`` and ``inner`` the radii of the two arcs, ``angle`` what they span once around.
    ``is_wide_above`` says that the rim is the outer arc.
    """

    slant: float
    outer: float
    inner: float
    angle: float
    is_wide_above: bool


def taper(foot_radius: float, rim_radius: float, height: float) -> Taper | None:
    """Lay a round wall flat; None where it is straight.

    Parameters
    ----------
    foot_radius, rim_radius : float
        At the middle of the wall. [mm]
    height : float
        Upright. [mm]
    """
    lean = abs(rim_radius - foot_radius)
    if 2 * lean < STRAIGHT_MM:
        return None
    slant = math.hypot(height, lean)
    wide = max(foot_radius, rim_radius)
    outer = slant * wide / lean
    return Taper(
        slant=slant,
        outer=outer,
        inner=outer - slant,
        angle=2 * math.pi * wide / outer,
        is_wide_above=rim_radius > foot_radius,
    )


ARC_STEPS = 120
"""Chords to an arc: on one of 300 mm that spans a right angle they miss it by 0.01 mm."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A taper on paper with an overlap at both ends; (0, 0) is its lower left corner. [mm]"""

    taper: Taper
    lap: float
    width: float
    height: float
    left: float
    low: float

    def at(self, share: float, up: float, beyond: float = 0.0) -> tuple[float, float]:
        """A point of the wall.

        Parameters
        ----------
        share : float
            Around, from -1 at the left end of once around to 1 at the right.
        up : float
            From 0 at the foot to 1 at the rim.
        beyond : float
            So far past the end, square to it. [mm]
        """
        x, y = _raw(self.taper, share, up, beyond)
        return x - self.left, y - self.low

    @property
    def outline(self) -> list[tuple[float, float]]:
        """Foot from left to right, then the rim back."""
        return self._edge(0.0) + self._edge(1.0)[::-1]

    def _edge(self, up: float) -> list[tuple[float, float]]:
        arc = [self.at(2 * k / ARC_STEPS - 1, up) for k in range(ARC_STEPS + 1)]
        half = self.lap / 2
        return [self.at(-1, up, half), *arc, self.at(1, up, half)] if half else arc


def ring(shape: Taper, lap: float) -> Ring:
    """Place a taper on paper."""
    at_corner = Ring(shape, lap, 0.0, 0.0, 0.0, 0.0)
    xs, ys = zip(*at_corner.outline, strict=True)
    return Ring(shape, lap, max(xs) - min(xs), max(ys) - min(ys), min(xs), min(ys))


def _raw(shape: Taper, share: float, up: float, beyond: float) -> tuple[float, float]:
    turn = share * shape.angle / 2
    radius = shape.inner + (up if shape.is_wide_above else 1 - up) * shape.slant
    side = beyond if share > 0 else -beyond
    x = radius * math.sin(turn) + side * math.cos(turn)
    y = radius * math.cos(turn) - side * math.sin(turn)
    return x, y if shape.is_wide_above else -y
