"""What a log tells of a firing: peak, the rate into it, the hold, time above, the cooling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .cones import LAST_CLIMB_C
from .log import Log
from .ramp import QUARTZ_C, ROOM_C

AT_PEAK_C = 5.0
"""Within this of the peak the kiln holds; controllers swing by a few degrees. [°C]"""
OPENED_MIN, OPENED_PER_H = 10.0, 1.5
"""A closed kiln takes hours to lose two thirds of its excess over the room; one that loses them
within forty minutes stands open. Looked for over so many minutes (our proposal). [min], [1/h]"""
NEAR_ROOM_C = 10.0
"""So near the room a rate of cooling tells nothing. [°C]"""
TIME_ABOVE_C = 100.0
"""Time above is counted from this far below the planned cone, or below the peak. [°C]"""


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What a log tells.

    ``rate_c_per_h`` is of the last 100 °C before the peak; None where the log begins too hot.
    ``cooling_c_per_h`` is of the first 100 °C after it, ``quartz_c_per_h`` from 600 to 550 °C;
    None where the log ends before. ``opened_c`` is where the kiln begins to lose heat as no
    closed one does; None where it does not. ``last_c`` is the last temperature on record.
    """

    peak_c: float
    peak_at_min: float
    rate_c_per_h: float | None
    hold_min: float
    above_c: float
    above_min: float
    cooling_c_per_h: float | None
    quartz_c_per_h: float | None
    opened_c: float | None
    last_c: float
    hours: float


def facts_of(log: Log, *, above_c: float | None = None) -> Facts:
    """Work out the facts of a log.

    Parameters
    ----------
    log : Log
    above_c : float, optional
        Count the time above this; 100 °C below the peak when left out. [°C]
    """
    minutes, celsius = log.minutes, log.celsius
    peak_at = int(np.argmax(celsius))
    peak = float(celsius[peak_at])
    arrived = int(np.argmax(celsius >= peak - AT_PEAK_C))
    left = len(celsius) - 1 - int(np.argmax(celsius[::-1] >= peak - AT_PEAK_C))
    threshold = peak - TIME_ABOVE_C if above_c is None else above_c
    rate = _climb(minutes[: arrived + 1], celsius[: arrived + 1])
    cooling = _fall(minutes[left:], celsius[left:], peak, peak - LAST_CLIMB_C)
    # Within a few degrees of the peak also lie the end of the climb and the first of the cooling.
    passing = sum(AT_PEAK_C / each * 60 for each in (rate, cooling) if each and each > 0)
    return Facts(
        peak_c=peak,
        peak_at_min=float(minutes[peak_at]),
        rate_c_per_h=rate,
        hold_min=max(0.0, float(minutes[left] - minutes[arrived]) - passing),
        above_c=threshold,
        above_min=time_above(minutes, celsius, threshold),
        cooling_c_per_h=cooling,
        quartz_c_per_h=_fall(minutes[left:], celsius[left:], *QUARTZ_C),
        opened_c=_opened(minutes[left:], celsius[left:]),
        last_c=float(celsius[-1]),
        hours=float(minutes[-1]) / 60,
    )


def _climb(minutes, celsius) -> float | None:
    """Rate of the last 100 °C before arriving. [°C/h]"""
    start_c = celsius[-1] + AT_PEAK_C - LAST_CLIMB_C
    below = np.flatnonzero(celsius <= start_c)
    if not len(below):
        return None
    at = int(below[-1])
    span = minutes[-1] - minutes[at]
    return float((celsius[-1] - celsius[at]) / span * 60) if span > 0 else None


def _fall(minutes, celsius, high_c: float, low_c: float) -> float | None:
    """Rate of falling from one temperature to a lower, told as above zero. [°C/h]"""
    low = np.flatnonzero(celsius <= low_c)
    high = np.flatnonzero(celsius >= min(high_c, celsius[0]) - AT_PEAK_C)
    high = high[high < low[0]] if len(low) else high
    if not len(low) or not len(high):
        return None
    first, last = int(high[-1]), int(low[0])
    return float((celsius[first] - celsius[last]) / (minutes[last] - minutes[first]) * 60)


def _opened(minutes, celsius) -> float | None:
    """Temperature at which it begins to cool as an open kiln does. [°C]"""
    ends = np.searchsorted(minutes, minutes + OPENED_MIN)
    starts = np.flatnonzero(ends < len(minutes))
    ends = ends[starts]
    over = np.maximum(celsius - ROOM_C, NEAR_ROOM_C)
    hours = (minutes[ends] - minutes[starts]) / 60
    # Newton's law: the excess over the room falls by a share of itself.
    share = np.log(over[starts] / over[ends]) / hours
    found = np.flatnonzero((share >= OPENED_PER_H) & (over[starts] > NEAR_ROOM_C))
    return float(celsius[starts[found[0]]]) if len(found) else None


def time_above(minutes: np.ndarray, celsius: np.ndarray, threshold_c: float) -> float:
    """How long the line between the readings lies above a temperature. [min]"""
    over = celsius - threshold_c
    low, high = np.minimum(over[:-1], over[1:]), np.maximum(over[:-1], over[1:])
    # Crossing pairs stand above for the share of the step beyond the crossing.
    reach = np.where(high > low, high - low, 1.0)
    share = np.where(low >= 0, 1.0, np.where(high <= 0, 0.0, high / reach))
    return float(np.sum(share * np.diff(minutes)))
