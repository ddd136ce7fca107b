"""Cones: their order, and the temperature at which they are down at a given heating rate.

A cone answers to heat-work, time and temperature together: heated faster it goes down hotter.
A temperature is therefore never told here without its rate.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import total_ordering
from math import log

import numpy as np

SLOW_C_PER_H, FAST_C_PER_H = 60.0, 150.0
"""The two published heating rates of the last 100 °C: 108 and 270 °F an hour."""
LAST_CLIMB_C = 100.0
"""The stretch before the end over which a cone's heating rate counts. [°C]"""

# End points of large and self-supporting cones, last 100 °C at 60 °C/h (108 °F/h). Source: the
# cone maker's temperature equivalent chart, of which public copies were read and which agree in
# °F and °C to 1 °C: formsbank.com/template/288043 and scribd.com 456397963 (2016) for 022 to 08,
# two tables in open source code for the rest.
_SLOW_C = {
    "022": 586,
    "021": 600,
    "020": 626,
    "019": 678,
    "018": 715,
    "017": 738,
    "016": 772,
    "015": 791,
    "014": 807,
    "013": 837,
    "012": 861,
    "011": 875,
    "010": 903,
    "09": 920,
    "08": 942,
    "07": 976,
    "06": 998,
    "05": 1031,
    "04": 1063,
    "03": 1086,
    "02": 1102,
    "01": 1119,
    "1": 1137,
    "2": 1142,
    "3": 1152,
    "4": 1162,
    "5": 1186,
    "6": 1222,
    "7": 1239,
    "8": 1249,
    "9": 1260,
    "10": 1285,
}

# The same at 150 °C/h (270 °F/h), as printed, in °F; the copies that were read begin at 06.
_FAST_F = {
    "06": 1855,
    "05": 1911,
    "04": 1971,
    "03": 2019,
    "02": 2052,
    "01": 2080,
    "1": 2109,
    "2": 2127,
    "3": 2138,
    "4": 2161,
    "5": 2205,
    "6": 2269,
    "7": 2295,
    "8": 2320,
    "9": 2336,
    "10": 2381,
}

ORDER = tuple(_SLOW_C)
"""Every cone of the table, the softest first: 022 … 01, then 1 … 10."""


class ConeError(ValueError):
    """Not a cone of the table; the message is a sentence for the teacher."""


@total_ordering
@dataclass(frozen=True, slots=True)
class Cone:
    """One cone. Cones compare by heat-work: 06 < 01 < 1 < 6."""

    name: str

    @property
    def place(self) -> int:
        """Steps above cone 022."""
        return ORDER.index(self.name)

    @property
    def celsius(self) -> int:
        """Where it is down when the last 100 °C climb at 60 °C/h. [°C]"""
        return _SLOW_C[self.name]

    @property
    def fast_celsius(self) -> int | None:
        """The same at 150 °C/h, to the degree; None for the cones no copy tells. [°C]"""
        printed = _FAST_F.get(self.name)
        return None if printed is None else round((printed - 32) / 1.8)

    def neighbour(self, steps: int) -> Cone | None:
        """The cone that many steps hotter (negative: softer), or None beyond the table."""
        place = self.place + steps
        return Cone(ORDER[place]) if 0 <= place < len(ORDER) else None

    def end_point(self, rate_c_per_h: float) -> EndPoint:
        """Where it is down at a heating rate of the last 100 °C.

        Parameters
        ----------
        rate_c_per_h : float
            Above zero. [°C/h]

        Returns
        -------
        EndPoint
            Between the published rates in proportion to the logarithm of the rate, which is our
            reading between two published points. Outside them the nearer published one, marked.
        """
        slow, fast = float(self.celsius), self.fast_celsius
        if fast is None:
            return EndPoint(slow, SLOW_C_PER_H, published=_close(rate_c_per_h, SLOW_C_PER_H))
        used = min(max(rate_c_per_h, SLOW_C_PER_H), FAST_C_PER_H)
        share = log(used / SLOW_C_PER_H) / log(FAST_C_PER_H / SLOW_C_PER_H)
        inside = _close(rate_c_per_h, used)
        return EndPoint(slow + share * (fast - slow), used, published=inside)

    def __lt__(self, other: Cone) -> bool:
        return self.place < other.place

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True, slots=True)
class EndPoint:
    """A temperature with its rate. ``published`` is False where the rate lies off the chart."""

    celsius: float
    rate_c_per_h: float
    published: bool


# A rate off by a fifth moves an end point by some 5 °C, as the table's own two rates tell: less
# than a thermocouple's error. Farther off, the table does not cover it [share].
_RATE_CLOSE = 0.2


def _close(rate: float, other: float) -> bool:
    return abs(rate - other) <= _RATE_CLOSE * other


def cone(text: str) -> Cone:
    """Read a cone as written: 06, 6, cone 6, Δ06, ^6.

    The zero counts: 06 and 6 lie 224 °C apart, so nothing is added or dropped.

    Raises
    ------
    ConeError
        Not a cone of the table, with the nearest ones named.
    """
    bare = text.strip().casefold().removeprefix("cone").strip(" ∆Δδ△^#")
    if bare in _SLOW_C:
        return Cone(bare)
    meant = [name for name in ORDER if bare and name.lstrip("0") == bare.lstrip("0")]
    if meant:
        # "006" or "22": a zero too many or too few; never guessed at.
        hint = " or ".join(meant)
        raise ConeError(f"There is no cone “{text.strip()}”. Did you mean {hint}?")
    raise ConeError(
        f"“{text.strip()}” is not a cone of the table. Write 022 to 01 with the leading zero, "
        "or 1 to 10 without."
    )


def equivalent(peak_c: float, rate_c_per_h: float) -> Cone | None:
    """The hottest cone that is down at this peak and rate; None below cone 022."""
    down = [name for name in ORDER if Cone(name).end_point(rate_c_per_h).celsius <= peak_c]
    return max(map(Cone, down), default=None)


def gap_c(planned: Cone) -> float:
    """Half the way to the nearer neighbour: less than that off is nearer this cone. [°C]"""
    temperatures = np.array(list(_SLOW_C.values()), dtype=float)
    steps = np.abs(temperatures - planned.celsius)
    return float(np.min(steps[steps > 0]) / 2)


def step_up_c(planned: Cone) -> float:
    """From this cone to the next harder one; from the hardest, the step below it. [°C]"""
    after, before = planned.neighbour(1), planned.neighbour(-1)
    if after is not None:
        return float(after.celsius - planned.celsius)
    return float(planned.celsius - before.celsius)
