"""A planned ramp: segments of rate, target and hold, and the line they draw."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np

ROOM_C = 20.0
"""Where a ramp begins when nothing else is told. [°C]"""
FULL_SPEED_C_PER_H = 300.0
"""What a segment without a rate is drawn at; a small school kiln climbs about so at full power
(common practice, no source). [°C/h]"""

BOILING_C = 100.0
GENTLE_C_PER_H = 80.0
"""Rates up to here are usual while free water leaves a bisque load (common practice, no source)."""


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


def cautions(segments: Sequence[Segment], *, bisque: bool) -> list[str]:
    """What of a ramp asks for a second look (common practice, no source); never a refusal."""
    through_boiling = next((each for each in segments if each.target_c >= BOILING_C), None)
    if not bisque or through_boiling is None:
        return []
    rate = through_boiling.rate_c_per_h
    if rate is not None and rate <= GENTLE_C_PER_H:
        return []
    return [
        f"The first climb passes 100 °C faster than {GENTLE_C_PER_H:g} °C an hour: water in damp "
        "or thick pieces may turn to steam at once. Candle longer unless all are dry."
    ]
