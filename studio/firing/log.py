"""A controller's log: a file of time and temperature to a clean line, with all that was odd said.

Nothing odd is mended in silence: every line left out, every clock moved and every unit taken for
another is a :class:`Problem` with a sentence.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from . import clocks
from .lines import LogError, read_lines
from .problems import LogProblem, lines_words

__all__ = ["Log", "LogError", "LogProblem", "in_other_unit", "read_log"]

FEWEST_POINTS = 10
COLDEST_C, HOTTEST_C = -40.0, 1400.0
"""What a thermocouple in a school kiln can honestly say; beyond it is a fault's code. [°C]"""
SPIKE_C = 80.0
"""One reading this far off two neighbours that agree is noise of the wire. [°C]"""
NEIGHBOURS_AGREE_C = 30.0
SWITCH_C = 60.0
"""A step from one line to the next that no kiln makes, and a change of the unit does. [°C]"""
SWITCH_FIT = 0.02
"""How well such a step must fit °F = 1.8 °C + 32. [share]"""
STEP_RUNS_ON = 2.0
"""A step of time up to this many usual ones is the very next line."""
WARM_START = 45.0
"""A room has 10 to 35 °C and 50 to 95 °F: a log that begins above this begins in °F, or in a
kiln that is still warm; only a guess where nothing else tells."""
NEAR_PLAN_C = 120.0
"""A peak within this of the plan is that plan's. [°C]"""


@dataclass(frozen=True, kw_only=True)
class Log:
    """A firing as its controller wrote it.

    ``minutes`` rise strictly from 0 [min]; ``celsius`` [°C]; both of shape (n,), n >= 10. ``unit``
    is what the file was read as, ``unit_because`` why. ``line_count`` counts the lines that had
    figures, ``problems`` says what was done about the odd ones.
    """

    minutes: np.ndarray
    celsius: np.ndarray
    unit: str
    unit_because: str
    line_count: int
    problems: tuple[LogProblem, ...]


def to_celsius(fahrenheit):
    """[°F] to [°C]."""
    return (fahrenheit - 32.0) / 1.8


def read_log(data: bytes, *, unit: str = "", planned_peak_c: float | None = None) -> Log:
    """Read a controller's log.

    Parameters
    ----------
    data : bytes
        CSV with a time and a temperature in each line; heads and lines about the controller may
        stand above. The time is elapsed (s, min or h), a clock, or a date with a clock.
    unit : str
        "C" or "F" where a person says so, which outranks the file; "" to go by the file.
    planned_peak_c : float, optional
        The peak that was planned, by which a mistaken unit shows. [°C]

    Raises
    ------
    LogError
        No log at all, or too few lines of it to tell anything; the sentence says what to do.
    """
    lines = read_lines(data)
    problems: list[LogProblem] = []
    good = np.isfinite(lines.seconds) & np.isfinite(lines.raw)
    if not good.all():
        problems.append(_unread(lines, good))
    seconds, raw, numbers = (each[good] for each in (lines.seconds, lines.raw, lines.numbers))
    _refuse_few(len(raw))
    raw, base_unit, switched = _one_unit(raw, seconds, numbers)
    problems += switched
    chosen, because, doubts = _choose_unit(raw, unit, lines.head_unit or base_unit, planned_peak_c)
    problems += doubts
    celsius = to_celsius(raw) if chosen == "F" else raw.astype(float)
    seconds, celsius, numbers, faults = _without_faults(seconds, celsius, numbers)
    problems += faults
    _refuse_few(len(celsius))
    timed = clocks.mend(seconds, celsius, numbers, lines)
    problems += timed.problems
    _refuse_few(len(timed.celsius))
    return Log(
        minutes=timed.minutes,
        celsius=timed.celsius,
        unit=chosen,
        unit_because=because,
        line_count=len(lines.raw),
        problems=tuple(problems),
    )


def in_other_unit(log: Log) -> Log:
    """The same log, its figures taken for the other unit."""
    if log.unit == "C":
        celsius, unit = to_celsius(log.celsius), "F"
    else:
        celsius, unit = log.celsius * 1.8 + 32.0, "C"
    return replace(log, celsius=celsius, unit=unit, unit_because="you say so")


def _refuse_few(count: int) -> None:
    if count < FEWEST_POINTS:
        raise LogError(
            f"Only {count} lines have a time and a temperature that can be read; a firing needs "
            f"{FEWEST_POINTS} at least. Check that the whole file was copied."
        )


def _unread(lines, good) -> LogProblem:
    bad = lines.numbers[~good]
    return LogProblem(
        "unread",
        f"{lines_words(bad)} could not be read and {'was' if len(bad) == 1 else 'were'} left out: "
        f"“{lines.first_unread}”.",
        tuple(int(each) for each in bad[:5]),
    )


# -- units ---------------------------------------------------------------------------------------


def _one_unit(raw, seconds, numbers) -> tuple[np.ndarray, str, list[LogProblem]]:
    """Turn back stretches in which the controller changed its unit."""
    raw, problems, base = raw.copy(), [], ""
    steps = np.diff(seconds)
    usual = np.median(np.abs(steps))
    # After a gap, or where an earlier stretch is repeated, another temperature is no wonder.
    runs_on = (steps >= 0) & (steps <= STEP_RUNS_ON * usual)
    for at in np.flatnonzero((np.abs(np.diff(raw)) > SWITCH_C) & runs_on):
        # Looked at afresh: an earlier switch turned back may have mended this step.
        before, after = raw[at], raw[at + 1]
        as_f, as_c = before * 1.8 + 32.0, to_celsius(before)
        if abs(after - before) <= SWITCH_C:
            continue
        if abs(after - as_f) <= SWITCH_FIT * abs(as_f):
            raw[at + 1 :] = to_celsius(raw[at + 1 :])
            base, words = base or "C", "from °C to °F"
        elif abs(after - as_c) <= SWITCH_FIT * abs(as_c) + 1 and before > SWITCH_C:
            raw[at + 1 :] = raw[at + 1 :] * 1.8 + 32.0
            base, words = base or "F", "from °F to °C"
        else:
            continue
        problems.append(
            LogProblem(
                "unit switch",
                f"At line {numbers[at + 1]} the unit changes {words}: {before:g} is followed by "
                f"{after:g}. The lines from there on were turned back.",
                (int(numbers[at + 1]),),
            )
        )
    return raw, base, problems


def _choose_unit(raw, told, in_file, planned_c) -> tuple[str, str, list[LogProblem]]:
    """The unit to read in, why, and what speaks against it."""
    peak = float(np.nanmax(np.where(np.abs(raw) < _FAULT_CODE, raw, -np.inf)))
    fits = _fits_plan(peak, planned_c)
    if told:
        return told, "you say so", _doubt(told, peak, fits, planned_c)
    if in_file:
        if in_file == "C" and peak > HOTTEST_C:
            sentence = (
                f"The file says °C, but its peak of {peak:.0f} is hotter than any kiln here goes. "
                f"It was read as °F: {to_celsius(peak):.0f} °C."
            )
            return "F", "its peak in °C is impossible", [LogProblem("unit", sentence)]
        return in_file, "the file says so", _doubt(in_file, peak, fits, planned_c)
    if peak > HOTTEST_C:
        return "F", "its peak is beyond any kiln's in °C", [_guessed("F", peak)]
    if fits:
        return fits, "its peak fits the plan so", [_guessed(fits, peak)]
    guess = "F" if raw[0] > WARM_START else "C"
    return guess, f"it begins at {raw[0]:.0f}", [_guessed(guess, peak)]


_FAULT_CODE = 3000.0
"""Beyond 1400 °C told in °F, no reading but a code such as 9999."""


def _fits_plan(peak: float, planned_c: float | None) -> str:
    """The one unit in which the peak comes near the plan; "" where neither or both do."""
    if planned_c is None:
        return ""
    off = {"C": abs(peak - planned_c), "F": abs(to_celsius(peak) - planned_c)}
    near = [unit for unit in off if off[unit] <= NEAR_PLAN_C]
    return near[0] if len(near) == 1 else ""


def _guessed(unit: str, peak: float) -> LogProblem:
    in_c = to_celsius(peak) if unit == "F" else peak
    return LogProblem(
        "unit",
        f"The file does not say its unit. It was read as °{unit}, which gives a peak of "
        f"{in_c:.0f} °C. If that is wrong, read it in the other unit.",
    )


def _doubt(unit: str, peak: float, fits: str, planned_c: float | None) -> list[LogProblem]:
    if not fits or fits == unit:
        return []
    as_read = to_celsius(peak) if unit == "F" else peak
    other = to_celsius(peak) if fits == "F" else peak
    sentence = (
        f"Is this really °{unit}? Read so, the peak is {as_read:.0f} °C; the plan was "
        f"{planned_c:.0f} °C. Read as °{fits} it would be {other:.0f} °C."
    )
    return [LogProblem("unit", sentence)]


# -- the thermocouple ----------------------------------------------------------------------------


def _without_faults(seconds, celsius, numbers):
    """Leave out codes of a fault and lone spikes."""
    problems = []
    fault = (celsius < COLDEST_C) | (celsius > HOTTEST_C)
    if fault.any():
        problems.append(
            LogProblem(
                "sensor",
                f"{lines_words(numbers[fault])} {_has(fault)} a temperature that no thermocouple "
                "means; left out. Look at the thermocouple and its plug.",
                tuple(int(each) for each in numbers[fault][:5]),
            )
        )
    seconds, celsius, numbers = (each[~fault] for each in (seconds, celsius, numbers))
    spike = np.zeros(len(celsius), bool)
    before, here, after = celsius[:-2], celsius[1:-1], celsius[2:]
    spike[1:-1] = (
        (np.abs(before - after) < NEIGHBOURS_AGREE_C)
        & (np.abs(here - before) > SPIKE_C)
        & (np.abs(here - after) > SPIKE_C)
    )
    if spike.any():
        problems.append(
            LogProblem(
                "spike",
                f"{lines_words(numbers[spike])} jump{'s' if spike.sum() == 1 else ''} by more "
                f"than {SPIKE_C:.0f} °C and back at once; left out.",
                tuple(int(each) for each in numbers[spike][:5]),
            )
        )
    return seconds[~spike], celsius[~spike], numbers[~spike], problems


def _has(mask) -> str:
    return "has" if mask.sum() == 1 else "have"
