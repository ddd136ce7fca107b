"""A planned ramp: segments of rate, target and hold, and the line they draw."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

from .cones import Cone, equivalent

ROOM_C = 20.0
"""Where a ramp begins when nothing else is told. [°C]"""
FULL_SPEED_C_PER_H = 300.0
"""What a segment without a rate is drawn at; a small school kiln climbs about so at full power
(common practice, no source). [°C/h]"""

BOILING_C, WATER_OUT_C = 100.0, 200.0
"""Free water boils off from here to there, and later the deeper it sits (common practice). [°C]"""
GENTLE_C_PER_H = 80.0
"""Rates up to here are usual while free water leaves a bisque load (common practice, no source)."""
CANDLE_C, CANDLE_MIN = (80.0, 130.0), 120.0
"""Held so warm for so long, a load of ordinary walls is dry (common practice, no source)."""
CONES_OFF = 2
"""A peak that brings down a cone so many steps from the planned one is a slip or a long hold."""
QUARTZ_C = (600.0, 550.0)
"""Around 573 °C quartz changes its size at once: fast cooling here cracks (common knowledge of
the trade; the temperature of the inversion from memory). [°C]"""
QUICK_FALL_C_PER_H = 150.0
"""A closed school kiln falls no faster through the quartz range; faster cracks ware (common
practice, no source). [°C/h]"""


class RampError(ValueError):
    """A ramp that no controller can follow; the message is a sentence for the teacher."""


@dataclass(frozen=True, slots=True)
class Segment:
    """Climb or fall to ``target_c`` at ``rate_c_per_h`` (None: as fast as it can), then hold."""

    rate_c_per_h: float | None
    target_c: float
    hold_min: float = 0.0


@dataclass(frozen=True, slots=True)
class Ramp:
    """A planned ramp as a broken line: minutes from the start, and the temperature then."""

    minutes: np.ndarray
    celsius: np.ndarray

    @property
    def peak_c(self) -> float:
        return float(self.celsius.max())

    @property
    def hours(self) -> float:
        return float(self.minutes[-1]) / 60


def plan_ramp(segments: Iterable[Segment], *, start_c: float = ROOM_C) -> Ramp:
    """Lay segments end to end.

    Raises
    ------
    RampError
        No segment, a rate that is not above zero, a hold below zero, or a value not finite.
    """
    segments = tuple(segments)
    if not segments:
        raise RampError("A ramp needs at least one segment.")
    minutes, celsius = [0.0], [float(start_c)]
    for number, each in enumerate(segments, 1):
        rate = FULL_SPEED_C_PER_H if each.rate_c_per_h is None else each.rate_c_per_h
        if not all(map(isfinite, (rate, each.target_c, each.hold_min))):
            raise RampError(f"Segment {number} has a value that is no number.")
        if rate <= 0:
            raise RampError(
                f"Segment {number}: the rate is told without a sign; whether it climbs or cools "
                "follows from the target. Leave it empty for full speed."
            )
        if each.hold_min < 0:
            raise RampError(f"Segment {number}: a hold lasts zero minutes or more.")
        climb = abs(each.target_c - celsius[-1]) / rate * 60
        minutes.append(minutes[-1] + climb)
        celsius.append(float(each.target_c))
        if each.hold_min:
            minutes.append(minutes[-1] + each.hold_min)
            celsius.append(float(each.target_c))
    return Ramp(np.array(minutes), np.array(celsius))


def cautions(
    segments: Sequence[Segment], *, bisque: bool, planned: Cone | None = None
) -> list[str]:
    """What of a ramp asks for a second look (common practice, no source); never a refusal.

    Parameters
    ----------
    segments : sequence of Segment
    bisque : bool
        Whether raw clay is fired, from which water must leave.
    planned : Cone, optional
        The cone that the ramp is meant for.
    """
    moves = list(_moves(segments))
    found = [_water(moves) if bisque else "", _peak(moves, planned), _fall(moves)]
    return [sentence for sentence in found if sentence]


@dataclass(frozen=True, slots=True)
class _Move:
    """A segment with where it begins."""

    start_c: float
    segment: Segment

    @property
    def rate(self) -> float:
        return self.segment.rate_c_per_h or FULL_SPEED_C_PER_H

    @property
    def said(self) -> str:
        return f"{self.rate:.0f} °C an hour" if self.segment.rate_c_per_h else "full speed"


def _moves(segments: Sequence[Segment]) -> Iterable[_Move]:
    at = ROOM_C
    for each in segments:
        yield _Move(at, each)
        at = each.target_c


def _water(moves: Sequence[_Move]) -> str:
    """Free water: a long candle dries the load; else no climb through its range may be fast."""
    candled = sum(
        move.segment.hold_min
        for move in moves
        if CANDLE_C[0] <= move.segment.target_c <= CANDLE_C[1]
    )
    through = [m for m in moves if m.start_c < WATER_OUT_C and m.segment.target_c > BOILING_C]
    fastest = max(through, key=lambda move: move.rate, default=None)
    if fastest is None or fastest.rate <= GENTLE_C_PER_H or candled >= CANDLE_MIN:
        return ""
    before = f" after {candled:.0f} minutes of candling" if candled else ""
    return (
        f"Between {BOILING_C:g} and {WATER_OUT_C:g} °C it climbs at {fastest.said}{before}: water "
        "in damp or thick pieces may turn to steam at once. Stay at "
        f"{GENTLE_C_PER_H:g} °C an hour up to {WATER_OUT_C:g} °C, or candle "
        f"{CANDLE_MIN / 60:g} hours below {CANDLE_C[1]:g} °C, unless all are bone dry and thin."
    )


def _peak(moves: Sequence[_Move], planned: Cone | None) -> str:
    """A peak that belongs to another cone."""
    if planned is None or not moves:
        return ""
    hottest = max(moves, key=lambda move: move.segment.target_c)
    peak, rate = hottest.segment.target_c, hottest.rate
    end = planned.end_point(rate)
    reached = equivalent(peak, rate)
    steps = (reached.place if reached else -1) - planned.place
    if abs(steps) < CONES_OFF:
        return ""
    off = peak - end.celsius
    nearer = f"; that is cone {reached}" if reached else ""
    return (
        f"The ramp peaks at {peak:.0f} °C{nearer}. Cone {planned} is down at {end.celsius:.0f} °C "
        f"at {end.rate_c_per_h:.0f} °C an hour, {abs(off):.0f} °C "
        f"{'lower' if off > 0 else 'higher'}. Look at the cone, its zero, and the unit."
    )


def _fall(moves: Sequence[_Move]) -> str:
    """Cooling that the ramp drives through the range of the quartz."""
    for move in moves:
        falls_through = move.start_c > QUARTZ_C[1] and move.segment.target_c < QUARTZ_C[0]
        if (
            falls_through
            and move.segment.target_c < move.start_c
            and (move.rate > QUICK_FALL_C_PER_H)
        ):
            return (
                f"It cools at {move.said} through {QUARTZ_C[0]:g} to {QUARTZ_C[1]:g} °C, where "
                "quartz changes its size: ware cracks (dunting). Leave the kiln closed, or plan "
                f"{QUICK_FALL_C_PER_H:g} °C an hour or less there."
            )
    return ""
