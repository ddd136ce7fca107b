"""The clock of a log: midnights, doubled lines, jumps and missing minutes, seen and said."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .lines import CLOCK, ELAPSED, Lines
from .problems import LogProblem, lines_words

DAY_S, HALF_DAY_S, MINUTE_S = 86400.0, 43200.0, 60.0
GAP_STEPS, GAP_AT_LEAST_S = 3.0, 120.0
"""Longer than three usual steps, and than two minutes, is a gap."""
RATE_WINDOW_S = 1800.0
"""How far to either side of a gap the kiln's own rate is looked for."""
TELLING_C = 15.0
"""A gap across which the kiln should have moved less than this tells a jump from missing
minutes badly: it counts as missing minutes. [°C]"""
JUMPED_SHARE = 0.25
"""Of what the kiln should have moved; less means that the time never passed."""
GAPS_NAMED = 4
COPY_SHARE, COPY_MOVES_C = 0.95, 5.0
SPAN_H = (1.5, 150.0)
"""A firing with its cooling lasts so long; it tells seconds from minutes from hours. [h]"""
UNIT_S = {"s": 1.0, "min": 60.0, "h": 3600.0}
COARSE_RUN = 3
LEAST_DOUBLED = 0.9


@dataclass(frozen=True, kw_only=True)
class Timed:
    """Minutes that rise strictly from 0, the temperatures beside, and what was seen."""

    minutes: np.ndarray
    celsius: np.ndarray
    problems: list[LogProblem]


def mend(seconds: np.ndarray, celsius: np.ndarray, numbers: np.ndarray, lines: Lines) -> Timed:
    """Make time run on.

    Parameters
    ----------
    seconds, celsius, numbers : ndarray, shape (n,)
        Time [s, or the file's elapsed unit], temperature [°C] and line number, in file order.
    lines : Lines
        What the time counts, and in which unit.
    """
    problems: list[LogProblem] = []
    if lines.clock == ELAPSED:
        seconds = _in_seconds(seconds, lines.elapsed_unit, problems)
    if np.sum(np.diff(seconds) < 0) > np.sum(np.diff(seconds) > 0):
        seconds, celsius, numbers = seconds[::-1], celsius[::-1], numbers[::-1]
        problems.append(LogProblem("order", "The newest line stands first; the file was turned."))
    if lines.clock == CLOCK:
        # A clock without a date falls back to 0 at midnight: no jump, the next day.
        seconds = seconds + DAY_S * np.cumsum(np.diff(seconds, prepend=seconds[0]) < -HALF_DAY_S)
    state = (seconds, celsius, numbers)
    state = _without_copies(*state, problems)
    state = _without_doubles(*state, lines, problems)
    seconds, celsius, numbers = _unjumped(*state, problems)
    minutes = (seconds - seconds[0]) / MINUTE_S
    return Timed(minutes=minutes, celsius=celsius, problems=problems)


def _in_seconds(values: np.ndarray, unit: str, problems: list[LogProblem]) -> np.ndarray:
    if unit:
        return values * UNIT_S[unit]
    span = float(np.max(values) - np.min(values))
    fitting = [u for u, s in UNIT_S.items() if SPAN_H[0] <= span * s / 3600 <= SPAN_H[1]]
    chosen = fitting[0] if fitting else "min"
    others = f" It could be {' or '.join(fitting[1:])} too." if len(fitting) > 1 else ""
    problems.append(
        LogProblem(
            "time unit",
            f"The file does not say what its time counts. It was read as {chosen}, which makes "
            f"{span * UNIT_S[chosen] / 3600:.1f} hours.{others}",
        )
    )
    return values * UNIT_S[chosen]


def _without_copies(seconds, celsius, numbers, problems):
    """A stretch of the file that was appended a second time is left out."""
    keep = np.ones(len(seconds), bool)
    # Two arrays of pairs as one of complex numbers: sought without a loop.
    pairs = seconds + 1j * celsius
    for at in np.flatnonzero(np.diff(seconds) < 0) + 1:
        if not keep[at]:
            continue
        later = np.flatnonzero(seconds[at:] > seconds[:at].max())
        end = at + int(later[0]) if len(later) else len(seconds)
        block = pairs[at:end]
        seen = np.isin(block, pairs[:at])
        if seen.mean() >= COPY_SHARE and np.ptp(block.imag) > COPY_MOVES_C:
            keep[at:end] = False
            problems.append(
                LogProblem(
                    "doubled",
                    f"Lines {numbers[at]} to {numbers[end - 1]} repeat earlier lines; left out.",
                    (int(numbers[at]),),
                )
            )
    return seconds[keep], celsius[keep], numbers[keep]


def _without_doubles(seconds, celsius, numbers, lines: Lines, problems):
    """Lines of one time: doubled, contradictory, or of a clock that shows no seconds."""
    same = np.diff(seconds, prepend=np.nan) == 0
    if not same.any():
        return seconds, celsius, numbers
    starts = np.flatnonzero(~same)
    runs = np.diff(np.append(starts, len(seconds)))
    equal = same & (np.diff(celsius, prepend=np.nan) == 0)
    doubled_all = equal.sum() >= LEAST_DOUBLED * same.sum()
    usual = float(np.median(runs))
    if lines.is_coarse and (usual >= COARSE_RUN or (usual > 1 and not doubled_all)):
        return _spread(seconds, starts, runs, problems), celsius, numbers
    if equal.any():
        problems.append(
            LogProblem(
                "doubled",
                f"{lines_words(numbers[equal])} repeat{'s' if equal.sum() == 1 else ''} the line "
                "before; left out.",
                tuple(int(each) for each in numbers[equal][:5]),
            )
        )
    other = same & ~equal
    if other.any():
        problems.append(
            LogProblem(
                "same time",
                f"{lines_words(numbers[other])} {'has' if other.sum() == 1 else 'have'} the time "
                "of the line before with another temperature; the first one counts.",
                tuple(int(each) for each in numbers[other][:5]),
            )
        )
    return seconds[~same], celsius[~same], numbers[~same]


def _spread(seconds, starts, runs, problems):
    """Spread the lines of one minute evenly over it."""
    inside = np.arange(len(seconds)) - np.repeat(starts, runs)
    problems.append(
        LogProblem(
            "coarse clock",
            f"The clock shows no seconds: the {np.median(runs):.0f} lines of each minute were "
            "spread evenly over it.",
        )
    )
    return seconds + MINUTE_S * inside / np.repeat(runs, runs)


def _unjumped(seconds, celsius, numbers, problems):
    """Shift what follows a clock that was set, and tell the minutes that are missing."""
    steps = np.diff(seconds)
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else MINUTE_S
    wide = (steps < 0) | (steps > max(GAP_STEPS * usual, GAP_AT_LEAST_S))
    missing: list[tuple[int, float]] = []
    mended = steps.copy()
    for at in np.flatnonzero(wide):
        step = steps[at]
        if step > 0 and not _time_stood(seconds, celsius, at, usual):
            missing.append((at, step))
            continue
        mended[at] = usual
        way = "back" if step < 0 else "forward"
        problems.append(
            LogProblem(
                "clock",
                f"At line {numbers[at + 1]} the clock jumps {way} by "
                f"{_span(abs(step - usual))} while the kiln goes on as before, as when summer "
                "time ends or begins. The lines after it were moved so that time runs on.",
                (int(numbers[at + 1]),),
            )
        )
    if missing:
        problems.append(_missing(missing, numbers, usual))
    return np.concatenate([[0.0], np.cumsum(mended)]), celsius, numbers


def _time_stood(seconds, celsius, at: int, usual: float) -> bool:
    """Whether the kiln did not move across a gap, though it was moving on both sides of it."""
    gap = seconds[at + 1] - seconds[at]
    reach = max(2, int(RATE_WINDOW_S / usual))
    rates = []
    for low, high in ((max(0, at - reach), at), (at + 1, min(len(seconds) - 1, at + 1 + reach))):
        span = seconds[high] - seconds[low]
        if span > 0:
            rates.append((celsius[high] - celsius[low]) / span)
    if not rates or min(rates) * max(rates) <= 0:
        return False
    expected = min(rates, key=abs) * gap
    moved = celsius[at + 1] - celsius[at]
    return abs(expected) >= TELLING_C and abs(moved) < JUMPED_SHARE * abs(expected)


def _missing(gaps: list[tuple[int, float]], numbers, usual: float) -> LogProblem:
    total = sum(step - usual for _at, step in gaps)
    named = ", ".join(
        f"{_span(step - usual)} before line {numbers[at + 1]}" for at, step in gaps[:GAPS_NAMED]
    )
    more = f" and {len(gaps) - GAPS_NAMED} more" if len(gaps) > GAPS_NAMED else ""
    return LogProblem(
        "missing",
        f"{_span(total)} {'is' if total < 2 * MINUTE_S else 'are'} missing: {named}{more}. "
        "The line between is drawn straight; a peak inside is not known.",
        tuple(int(numbers[at + 1]) for at, _step in gaps[:5]),
    )


def _span(seconds: float) -> str:
    minutes = seconds / MINUTE_S
    if minutes < 1:
        return f"{seconds:.0f} seconds"
    whole = round(minutes)
    return f"{whole} minute{'' if whole == 1 else 's'}"
