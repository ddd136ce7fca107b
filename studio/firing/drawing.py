"""A firing drawn: the log against the planned ramp, the cone's end point, the cooling.

Figures to paths and words in a box of 720 by 340 units; a template writes them down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .cones import EndPoint
from .log import Log
from .ramp import Ramp

WIDTH, HEIGHT = 720.0, 340.0
LEFT, RIGHT, TOP, BOTTOM = 56.0, 708.0, 26.0, 300.0
STEP_C = 200.0
HOURS_STEPS = (1, 2, 3, 4, 6, 12, 24)
MOST_TICKS = 13
WARMING_C = 30.0
"""Ramp and log are laid on each other where each is this much above its start: a controller may
wait for hours before it begins. [°C]"""
HEADROOM_C = 60.0


@dataclass(frozen=True, slots=True)
class Tick:
    """A line of the grid with its words."""

    at: float
    words: str


@dataclass(frozen=True, kw_only=True)
class FiringDrawing:
    """Paths and places; ``plan`` or ``log`` is "" where there is none."""

    log: str
    plan: str
    heats: tuple[Tick, ...]
    hours: tuple[Tick, ...]
    end_y: float | None
    end_words: str
    peak: tuple[float, float] | None
    peak_words: str
    peak_anchor: str
    above: str
    desc: str


def draw(
    log: Log | None,
    ramp: Ramp | None,
    *,
    end: EndPoint | None = None,
    cone: str = "",
    above_c: float | None = None,
) -> FiringDrawing | None:
    """Lay a log over its ramp; None where there is neither.

    Parameters
    ----------
    end : EndPoint, optional
        Where the planned cone is down, drawn across with its rate.
    above_c : float, optional
        Shade the log's part above this. [°C]
    """
    if log is None and ramp is None:
        return None
    shift = _shift(log, ramp)
    ends = [each.minutes[-1] + move for each, move in ((log, 0.0), (ramp, shift)) if each]
    tops = [float(each.celsius.max()) for each in (log, ramp) if each]
    if end:
        tops.append(end.celsius)
    first = min(0.0, shift) if ramp is not None else 0.0
    span = max(max(ends) - first, 1.0)
    top_c = max(tops) + HEADROOM_C

    def x(minutes):
        return LEFT + (minutes - first) / span * (RIGHT - LEFT)

    def y(celsius):
        return BOTTOM - np.clip(celsius, 0, None) / top_c * (BOTTOM - TOP)

    peak = None
    if log:
        at = int(np.argmax(log.celsius))
        peak = (float(x(log.minutes[at])), float(y(log.celsius[at])))
    return FiringDrawing(
        log=_path(*_thin(x(log.minutes), y(log.celsius))) if log else "",
        plan=_path(x(ramp.minutes + shift), y(ramp.celsius)) if ramp else "",
        heats=tuple(Tick(float(y(heat)), f"{heat:.0f}") for heat in np.arange(0, top_c, STEP_C)),
        hours=_hours(first, span, x),
        end_y=float(y(end.celsius)) if end else None,
        end_words=f"cone {cone}: {end.celsius:.0f} °C at {end.rate_c_per_h:.0f} °C/h"
        if end
        else "",
        peak=peak,
        peak_words=f"peak {log.celsius.max():.0f} °C" if log else "",
        peak_anchor="end" if peak and peak[0] > (LEFT + RIGHT) / 2 else "start",
        above=_above(log, above_c, x, y) if log and above_c is not None else "",
        desc=_desc(log, ramp, end, cone),
    )


def _shift(log: Log | None, ramp: Ramp | None) -> float:
    """Minutes by which the ramp begins after the log. [min]"""
    if log is None or ramp is None:
        return 0.0

    def warms(minutes, celsius) -> float:
        if celsius.max() < celsius[0] + WARMING_C:
            return float(minutes[0])
        at = int(np.argmax(celsius >= celsius[0] + WARMING_C))
        if at == 0:
            return float(minutes[0])
        return float(
            np.interp(celsius[0] + WARMING_C, celsius[at - 1 : at + 1], minutes[at - 1 : at + 1])
        )

    return warms(log.minutes, log.celsius) - warms(ramp.minutes, ramp.celsius)


def _thin(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Keep the first, lowest, highest and last point of every unit of width: the eye sees all."""
    column = np.floor(x).astype(int)
    starts = np.flatnonzero(np.diff(column, prepend=column[0] - 1))
    ends = np.append(starts[1:], len(x)) - 1
    keep = {0, len(x) - 1, *starts.tolist(), *ends.tolist()}
    if len(x) > 4 * len(starts):
        for start, end in zip(starts, ends, strict=True):
            part = y[start : end + 1]
            keep.update((int(start + part.argmin()), int(start + part.argmax())))
    else:
        keep = range(len(x))
    chosen = np.array(sorted(keep))
    return x[chosen], y[chosen]


def _path(x, y) -> str:
    return "M" + "L".join(f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True))


def _above(log: Log, above_c: float, x, y) -> str:
    """The area between the log and the threshold, where the log lies above it."""
    over = log.celsius >= above_c
    if not over.any():
        return ""
    first, last = int(np.argmax(over)), len(over) - 1 - int(np.argmax(over[::-1]))
    xs, ys = x(log.minutes[first : last + 1]), y(log.celsius[first : last + 1])
    floor = float(y(above_c))
    xs, ys = _thin(xs, np.minimum(ys, floor))
    return f"M{xs[0]:.1f} {floor:.1f}L{_path(xs, ys)[1:]}L{xs[-1]:.1f} {floor:.1f}Z"


def _hours(first: float, span: float, x) -> tuple[Tick, ...]:
    hours = span / 60
    step = next((s for s in HOURS_STEPS if hours / s < MOST_TICKS), 24 * int(hours / 240 + 1))
    count = int(hours / step) + 1
    return tuple(Tick(float(x(first + n * step * 60)), f"{n * step}") for n in range(count))


def _desc(log, ramp, end, cone) -> str:
    parts = []
    if log is not None:
        at = int(np.argmax(log.celsius))
        parts.append(
            f"The log climbs to {log.celsius[at]:.0f} °C after {log.minutes[at] / 60:.1f} hours "
            f"and ends at {log.celsius[-1]:.0f} °C after {log.minutes[-1] / 60:.1f} hours."
        )
    if ramp is not None:
        parts.append(f"The planned ramp peaks at {ramp.peak_c:.0f} °C.")
    if end is not None:
        parts.append(
            f"Cone {cone} is down at {end.celsius:.0f} °C when the last 100 °C climb at "
            f"{end.rate_c_per_h:.0f} °C an hour."
        )
    return " ".join(parts)
