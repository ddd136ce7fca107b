"""Under, on or over the planned cone: by the witness cones, and by the log.

The witness cones stood where the ware stood, so they decide; the log says what the thermocouple
felt, and the published end point at its own heating rate says what that should have done.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from .cones import (
    FAST_C_PER_H,
    SLOW_C_PER_H,
    Cone,
    EndPoint,
    equivalent,
    gap_c,
    step_up_c,
)
from .log_facts import Facts

UNDER, ON, OVER, UNTOLD = "under", "on", "over", "not told"
STANDING, ONE, THREE, FIVE, SIX, FLAT = "standing", "1", "3", "5", "6", "flat"

DOWN = (FIVE, SIX)
"""Tip at five or six o'clock: the cone has reached its end point. The maker's end point is the
tip level with the base; five o'clock is close to it (common practice, no source)."""
SHORT = (STANDING, ONE, THREE)

THERMOCOUPLE_SHARE, THERMOCOUPLE_LEAST_C = 0.0075, 2.2
"""Standard tolerance of a new type K thermocouple: the larger of 2.2 °C and 0.75 % (ASTM E230,
from memory, not verified); an old one drifts further, which is what witness cones are for."""
SOAK_TELLS_MIN = 10.0
"""A hold longer than this adds heat-work that the table does not count (common practice). [min]"""
HOLD_A_CONE_MIN = 60.0
"""A hold of about so long takes the peak a cone further (common practice, no source). [min]"""
HOLD_DOUBT = 2.0
"""So many times that rule a hold may do before a peak that is too low is under for certain."""


@dataclass(frozen=True, slots=True)
class FiringVerdict:
    """A verdict with its sentence."""

    verdict: str
    sentence: str


def by_witnesses(planned: Cone, read: Iterable[tuple[Cone, str]]) -> FiringVerdict:
    """Judge one shelf by its witness cones.

    Parameters
    ----------
    planned : Cone
    read : iterable of (Cone, str)
        Each cone that stood there and how it bent: standing, 1, 3, 5, 6 or flat.
    """
    bends = dict(read)
    if not bends:
        return FiringVerdict(UNTOLD, "No witness cone was read here.")
    if crossed := _crossed(bends):
        softer, harder = crossed
        return FiringVerdict(
            UNTOLD,
            f"Cone {harder} bent further than the softer cone {softer}, which no heat does. "
            "Look whether the two were taken for each other.",
        )
    return _by_neighbours(planned, bends) or _by_own(planned, bends)


def _by_neighbours(planned: Cone, bends: dict[Cone, str]) -> FiringVerdict | None:
    """What a harder cone that is down, or a softer one that stands, settles."""
    harder_down = [cone for cone, bend in bends.items() if cone > planned and bend not in SHORT]
    softer_up = [cone for cone, bend in bends.items() if cone < planned and bend in SHORT]
    if harder_down:
        return FiringVerdict(OVER, f"Over: even cone {max(harder_down)} went down.")
    if softer_up:
        return FiringVerdict(UNDER, f"Under: not even cone {min(softer_up)} went down.")
    return None if planned in bends else _without_own(planned, bends)


def _by_own(planned: Cone, bends: dict[Cone, str]) -> FiringVerdict:
    own = bends[planned]
    if own == FLAT:
        guard = any(cone > planned for cone in bends)
        limit = ", by less than a cone: the harder one still stands" if guard else ""
        return FiringVerdict(OVER, f"Over: cone {planned} lies flat{limit}.")
    if own in DOWN:
        return FiringVerdict(ON, f"On: cone {planned} is down, its tip at {own} o'clock.")
    if own == THREE:
        return FiringVerdict(
            UNDER, f"A little under: the tip of cone {planned} came to 3 o'clock only."
        )
    how = "stands stiff" if own == STANDING else "has hardly moved"
    return FiringVerdict(UNDER, f"Under: cone {planned} {how}.")


_BENT = {STANDING: 0, ONE: 1, THREE: 3, FIVE: 5, SIX: 6, FLAT: 7}


def _crossed(bends: dict[Cone, str]) -> tuple[Cone, Cone] | None:
    cones = sorted(bends)
    for softer, harder in pairwise(cones):
        if _BENT[bends[harder]] > _BENT[bends[softer]]:
            return softer, harder
    return None


def _without_own(planned: Cone, bends: dict[Cone, str]) -> FiringVerdict:
    softer = max((cone for cone in bends if cone < planned), default=None)
    harder = min((cone for cone in bends if cone > planned), default=None)
    if softer and harder:
        return FiringVerdict(
            ON, f"On, as far as it can be told: cone {softer} is down and cone {harder} stands."
        )
    only = softer or harder
    return FiringVerdict(
        UNTOLD, f"Cone {only} alone does not tell whether cone {planned} was reached."
    )


@dataclass(frozen=True, kw_only=True)
class LogVerdict:
    """What the log says against the planned cone.

    ``end`` is the end point at the log's own rate, or at the nearest published one, ``off_c`` the
    peak less that [°C], ``u_c`` half the width within which it counts as on, ``reached`` the
    hottest cone that peak and rate bring down; each None where log or table cannot tell.
    """

    verdict: str
    sentence: str
    end: EndPoint | None = None
    off_c: float | None = None
    u_c: float | None = None
    reached: Cone | None = None


def by_log(planned: Cone, facts: Facts) -> LogVerdict:
    """Judge a firing by the peak and the rate of the last 100 °C of its log.

    The table covers two rates and no hold. Where the log leaves them the verdict says so and
    leans on the witness cones, unless even the nearest published end point settles it: a cone
    heated slower goes down no hotter, and one heated faster no cooler.
    """
    rate = facts.rate_c_per_h
    if rate is None or rate <= 0:
        return LogVerdict(
            verdict=UNTOLD,
            sentence="The log does not hold the last 100 °C before the peak, so its rate, and with "
            "it the cone's temperature, cannot be told.",
        )
    end = planned.end_point(rate)
    off = facts.peak_c - end.celsius
    within = max(gap_c(planned), THERMOCOUPLE_LEAST_C, THERMOCOUPLE_SHARE * abs(facts.peak_c))
    judge = _in_table if end.published else _off_table
    verdict, tail = judge(planned, facts, off, within)
    measured = (
        f"The last 100 °C climbed at {rate:.0f} °C an hour; cone {planned} is down at "
        f"{end.celsius:.0f} °C {_at_rate(end, rate)}. The peak was {facts.peak_c:.0f} °C"
    )
    return LogVerdict(
        verdict=verdict,
        sentence=measured + tail,
        end=end,
        off_c=off,
        u_c=within,
        reached=equivalent(facts.peak_c, rate) if end.published else None,
    )


def _in_table(planned: Cone, facts: Facts, off: float, within: float) -> tuple[str, str]:
    """Verdict and the rest of its sentence at a rate that is published."""
    held = facts.hold_min if facts.hold_min > SOAK_TELLS_MIN else 0.0
    cones = held / HOLD_A_CONE_MIN
    worth = cones * step_up_c(planned)
    hold = f"it was held for {facts.hold_min:.0f} minutes"
    if off > within:
        return OVER, f", {off:.0f} °C above."
    if off < -within:
        if held and off + HOLD_DOUBT * worth >= -within:
            return UNTOLD, (
                f", {-off:.0f} °C below, but {hold}, which adds heat-work that the table does not "
                f"cover. {WITNESSES}"
            )
        return UNDER, f", {-off:.0f} °C below."
    if off + worth > within:
        return UNTOLD, (
            f": at the cone's own temperature, but {hold}. That is the heat-work of about "
            f"{cones:.1f} cones more (common practice), which the table does not cover; it may be "
            f"over. {WITNESSES}"
        )
    return ON, f": on the cone within {within:.0f} °C, what thermocouple and neighbours allow."


def _off_table(planned: Cone, facts: Facts, off: float, within: float) -> tuple[str, str]:
    """The same where the rate lies off the table: only what the nearest rate settles."""
    is_slow = facts.rate_c_per_h < planned.end_point(facts.rate_c_per_h).rate_c_per_h
    if is_slow and off > within:
        return OVER, f", {off:.0f} °C above, and so slow a climb needs less heat than that."
    if not is_slow and off < -within and facts.hold_min <= SOAK_TELLS_MIN:
        return UNDER, f", {-off:.0f} °C below, and so fast a climb needs more heat than that."
    pace = "slow" if is_slow else "fast"
    return UNTOLD, f". The table does not cover so {pace} a climb. {WITNESSES}"


WITNESSES = "The witness cones decide."


def _at_rate(end: EndPoint, rate: float) -> str:
    if end.published:
        return "at that rate"
    nearest = f"{end.rate_c_per_h:.0f} °C an hour"
    if rate > FAST_C_PER_H or rate < SLOW_C_PER_H:
        return f"at {nearest}, the nearest rate that is published for it"
    return f"at {nearest}, the only rate read for it"
