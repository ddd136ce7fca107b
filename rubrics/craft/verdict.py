"""A measured figure against a limit: within, outside, or too close to call."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from functools import cache

from studio.ware.uncertainty import COVERAGE_FACTOR

from .levels import Limit, not_above
from .results import OUTSIDE, TOO_CLOSE, WITHIN, Judged


def verdict(value: float, u: float, limit: float) -> str:
    """Judge a figure that must not exceed a limit.

    Parameters
    ----------
    value : float
        The measured figure; a signed one is judged on its magnitude.
    u : float
        Its standard uncertainty.
    limit : float
        The largest value allowed, T.

    Returns
    -------
    str
        "within" when value + U <= T, "outside" when value − U > T, else "too close to call";
        U = 2u.

    References
    ----------
    .. [1] JCGM 106:2012, 8.3: guarded acceptance and guarded rejection.
    .. [2] ISO 14253-1: the decision rule within the limits less U, outside them plus U.
    """
    size, expanded = abs(value), COVERAGE_FACTOR * u
    high, low = size + expanded, size - expanded
    # The plain comparison first: it decides nearly always, and rounding only at a limit.
    if high <= limit or not_above(high, limit):
        return WITHIN
    return TOO_CLOSE if low <= limit or not_above(low, limit) else OUTSIDE


@cache
def _keys(result: type) -> tuple[tuple[str, str, str], ...]:
    """For each figure of a kind of result: its name, that of its uncertainty, and its key."""
    return tuple((name, f"u_{name}", f"{result.check}.{name}") for name in result.FIGURES)


def judge(
    result: type,
    figures: Mapping[str, object],
    limits: Mapping[str, Limit] | None,
    at_least: Collection[str] = (),
) -> tuple[str | None, tuple[Judged, ...]]:
    """Judge the figures of a check that have a limit, and the check by the worst of them.

    Parameters
    ----------
    result : type
        The kind of result, with ``check`` and ``FIGURES``.
    figures : mapping
        Figures and their uncertainties: "x" and "u_x". One that is None is passed over.
    limits : mapping of "check.figure" to Limit, or None
        The verdict is on ``Limit.b``, what the trade calls acceptable.
    at_least : collection of str
        Figures of which the stations show no more than a part: outside can be said of them, and
        nothing else.
    """
    if not limits:
        return None, ()
    judged, words = [], set()
    for name, u_name, key in _keys(result):
        if key not in limits or (value := figures.get(name)) is None:
            continue
        limit, u = limits[key], figures.get(u_name) or 0.0
        largest = limit.b
        # Most are well within, and need no more than this to be told.
        inside = abs(value) + COVERAGE_FACTOR * u <= largest
        word = WITHIN if inside else verdict(value, u, largest)
        if word == OUTSIDE or name not in at_least:
            judged.append(Judged(name, value, u, largest, word, limit.graded))
            words.add(word)
    return worst_verdict(words), tuple(judged)


def worst_verdict(verdicts: Iterable[str]) -> str | None:
    """The worst of some verdicts; None of none."""
    found = set(verdicts)
    return next((word for word in _FROM_WORST if word in found), None)


_FROM_WORST = (OUTSIDE, TOO_CLOSE, WITHIN)
