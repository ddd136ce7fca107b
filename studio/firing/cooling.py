"""How a kiln cooled and at what temperature it was opened: what the log tells of both."""

from __future__ import annotations

from .log_facts import Facts
from .ramp import QUARTZ_C, QUICK_FALL_C_PER_H
from .verdict import UNTOLD, FiringVerdict

GENTLE, FAST, HOT, COOL = "gentle", "fast", "too hot", "cool enough"

OPEN_BELOW_C = 120.0
"""Above this no lid or door is opened (common practice, no source; the kiln's manual decides)."""
UNLOAD_BELOW_C = 50.0
"""Above this ware burns bare hands (common practice, no source). [°C]"""


def cooling(facts: Facts) -> FiringVerdict:
    """Judge how the log passes the range in which quartz changes its size."""
    rate = facts.quartz_c_per_h
    span = f"from {QUARTZ_C[0]:g} to {QUARTZ_C[1]:g} °C"
    if rate is None:
        return FiringVerdict(UNTOLD, f"The log does not hold the cooling {span}.")
    if rate > QUICK_FALL_C_PER_H:
        return FiringVerdict(
            FAST,
            f"It fell at {rate:.0f} °C an hour {span}, where quartz changes its size; up to "
            f"{QUICK_FALL_C_PER_H:g} is usual. A crack with sharp edges (a dunt) is then the "
            "kiln's doing.",
        )
    return FiringVerdict(
        GENTLE,
        f"It fell at {rate:.0f} °C an hour {span}, up to {QUICK_FALL_C_PER_H:g} is usual. Where "
        "ware dunted all the same, look at uneven walls and at glaze on one side only.",
    )


def opening(opened_c: float | None, facts: Facts | None = None) -> FiringVerdict:
    """Judge the temperature at which the kiln was opened.

    Parameters
    ----------
    opened_c : float, optional
        As a person noted it, which outranks the log. [°C]
    facts : Facts, optional
        Of the log, which shows an opening by how fast the heat goes.
    """
    source = "was opened"
    if opened_c is None and facts is not None:
        opened_c, source = facts.opened_c, "was opened, by the log's sudden fall,"
    if opened_c is None:
        until = f" It ends at {facts.last_c:.0f} °C with the kiln closed." if facts else ""
        return FiringVerdict(UNTOLD, f"At what temperature it was opened is not told.{until}")
    if opened_c > OPEN_BELOW_C:
        return FiringVerdict(
            HOT,
            f"It {source} at {opened_c:.0f} °C: too hot for people and ware. Wait until "
            f"{OPEN_BELOW_C:g} °C before it is opened and {UNLOAD_BELOW_C:g} °C before it is "
            "unloaded (common practice); the kiln's manual decides.",
        )
    wait = f" Hands wait until {UNLOAD_BELOW_C:g} °C." if opened_c > UNLOAD_BELOW_C else ""
    return FiringVerdict(COOL, f"It {source} at {opened_c:.0f} °C, as is usual.{wait}")
