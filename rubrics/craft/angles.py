"""Azimuths: means, differences and gaps on a circle. Degrees, counter-clockwise from above."""

from __future__ import annotations

import math
from collections.abc import Sequence

FULL_TURN_DEG = 360.0
HALF_TURN_DEG = 180.0

SAME_DIRECTION_DEG = 1e-6
"""Azimuths closer than this [°] are one station: far below what any instrument tells."""

UNKNOWN_DIRECTION_U_DEG = FULL_TURN_DEG / math.sqrt(12)
"""Standard uncertainty of a direction of which nothing is known: uniform over a full turn. [°]"""


def wrap_half_turn(angle_deg: float) -> float:
    """Bring an angle into (−180, 180]. [°]"""
    wrapped = math.remainder(angle_deg, FULL_TURN_DEG)
    return HALF_TURN_DEG if wrapped == -HALF_TURN_DEG else wrapped


def wrap_full_turn(angle_deg: float) -> float:
    """Bring an angle into [0, 360). [°]"""
    wrapped = angle_deg % FULL_TURN_DEG
    # A hair under a full turn is the rounding of 0, and reads badly as 360.
    return 0.0 if FULL_TURN_DEG - wrapped < SAME_DIRECTION_DEG else wrapped


def largest_gap(azimuths_deg: Sequence[float]) -> float:
    """Largest angle between neighbours round the circle; a full turn for one station. [°]"""
    ordered = sorted(wrap_full_turn(a) for a in azimuths_deg)
    around = [*ordered[1:], ordered[0] + FULL_TURN_DEG]
    return max(after - before for before, after in zip(ordered, around, strict=True))


def direction_uncertainty(amplitude: float, u_across: float) -> float:
    """Standard uncertainty of the direction of a vector, from that across it. [°]

    Never more than that of a direction of which nothing is known.
    """
    if u_across == 0:
        return 0.0
    return min(math.degrees(math.atan2(u_across, amplitude)), UNKNOWN_DIRECTION_U_DEG)
