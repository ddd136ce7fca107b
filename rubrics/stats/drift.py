"""Whether the eye moved: within a sitting, between two teachers, between students and teacher.

Each is a :class:`Shift`: a difference with its interval and the chance of one as large where there
is none. What one page shows goes through :func:`together`, which holds the chance of a false alarm
over all of it.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .distributions import t_chance, t_quantile
from .errors import CannotTellError
from .estimates import COVERAGE
from .family import CHANCE, holm

FEWEST = 10
"""Pieces or students: with levels of four steps Student's interval holds its 95 % from here on."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A difference, its interval, what it stands on, and its chance where there is none.

    ``held`` is the chance beside all that the page shows, ``told`` whether the page may speak of
    a shift; both come of :func:`together`.
    """

    value: float
    low: float
    high: float
    count: int
    chance: float
    held: float = 1.0
    told: bool = False


@dataclass(frozen=True, slots=True)
class OwnEye:
    """Students' levels less the teacher's: on the average, and how that changes per project.

    ``change`` is None while too few students have two projects."""

    difference: Shift
    change: Shift | None


def together(shifts: Sequence[Shift], *, chance: float = CHANCE) -> tuple[Shift, ...]:
    """The same shifts with ``held`` and ``told``: with no shift anywhere, one is told by chance on
    at most ``chance`` of such pages (Holm's rule)."""
    held = holm([each.chance for each in shifts])
    return tuple(
        replace(shift, held=beside, told=beside <= chance)
        for shift, beside in zip(shifts, held, strict=True)
    )


def over_sitting(values) -> Shift:
    """Change from the first piece to the last, by regression on the order of judging.

    It is the reader's doing only if the order was drawn by chance: in another order the pieces
    themselves may get better or worse.

    Parameters
    ----------
    values : array_like, shape (n,)
        Levels of one criterion, or percents, in the order of judging; NaN where not judged.

    Raises
    ------
    CannotTellError
        Under ten pieces, or the same figure for all.
    """
    values = np.asarray(values, dtype=float)
    judged = np.isfinite(values)
    order, y = np.flatnonzero(judged).astype(float), values[judged]
    _enough(len(y), "pieces of this sitting were judged")
    if not np.ptp(y) > 0:
        raise CannotTellError("All pieces of the sitting stand the same: no drift can show.")
    run = order - order.mean()
    squares = float(run @ run)
    slope = float(run @ y) / squares
    rest = y - y.mean() - slope * run
    free = len(y) - 2
    error = math.sqrt(float(rest @ rest) / free / squares)
    return _shift(slope, error, free, len(y), times=len(values) - 1)


def between_readers(first, second) -> Shift:
    """How much higher the second reader marks the same pieces.

    Parameters
    ----------
    first, second : array_like, shape (pieces,) or (pieces, criteria)
        Levels or percents; NaN where not judged. The marks of a piece are averaged: pieces are the
        witnesses.
    """
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if a.shape != b.shape or a.ndim not in (1, 2) or a.size == 0:
        raise CannotTellError("There is nothing that both read.")
    apart = (b - a).reshape(len(a), -1)
    apart = apart[np.isfinite(apart).any(axis=1)]
    _enough(len(apart), "pieces were read by both")
    return _mean_shift(np.nanmean(apart, axis=1), "pieces")


def own_and_teacher(students: Sequence[Hashable], projects, own, teacher) -> OwnEye:
    """Students' own levels beside the teacher's over a term; a student is a witness once.

    Parameters
    ----------
    students : sequence, length n
        Whose mark it is.
    projects : array_like, shape (n,)
        The number of the project.
    own, teacher : array_like, shape (n,)
        The two levels.

    Raises
    ------
    CannotTellError
        Under ten students, or the same difference for all.
    """
    projects = np.asarray(projects, dtype=float)
    apart = np.asarray(own, dtype=float) - np.asarray(teacher, dtype=float)
    if not len(students) == len(projects) == len(apart):
        raise CannotTellError("Every mark needs its student, its project and both levels.")
    by_student: dict[Hashable, list[int]] = {}
    for i, student in enumerate(students):
        if math.isfinite(apart[i]):
            by_student.setdefault(student, []).append(i)
    _enough(len(by_student), "students judged themselves")
    difference = _mean_shift(
        np.array([apart[rows].mean() for rows in by_student.values()]), "students"
    )
    slopes = [
        float(run @ apart[rows]) / float(run @ run)
        for rows in by_student.values()
        if np.any(run := projects[rows] - projects[rows].mean())
    ]
    change = None
    if len(slopes) >= FEWEST and np.ptp(slopes) > 0:
        change = _mean_shift(np.array(slopes), "students")
    return OwnEye(difference, change)


def _enough(count: int, what: str) -> None:
    if count < FEWEST:
        raise CannotTellError(
            f"Too few {what}: {count}, and it takes {FEWEST} to tell whether the eye moved."
        )


def _mean_shift(values: np.ndarray, what: str) -> Shift:
    sd = float(values.std(ddof=1))
    if sd == 0:
        raise CannotTellError(
            f"The difference is {values[0]:+g} on all {len(values)} {what}: there is no spread "
            "from which an interval could be drawn."
        )
    n = len(values)
    return _shift(float(values.mean()), sd / math.sqrt(n), n - 1, n)


def _shift(value: float, error: float, free: int, count: int, times: float = 1) -> Shift:
    reach = t_quantile(0.5 + COVERAGE / 2, free) * error
    chance = t_chance(value / error, free) if error > 0 else 0.0
    return Shift(times * value, times * (value - reach), times * (value + reach), count, chance)
