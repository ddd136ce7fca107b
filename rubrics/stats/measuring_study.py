"""How good the measuring is: several people measure the same cups, several times each.

A crossed study in two ways with repeats; components of variance by the analysis of variance.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from .distributions import chi2_quantile
from .errors import CannotTellError
from .estimates import COVERAGE, Estimate

FEWEST_PEOPLE, FEWEST_CUPS = 2, 3
FEWEST_AGAIN = 10
"""Repeats beyond the first, over all: with fewer the repeatability is not known to a quarter."""

SDS_ACROSS = 4.0
"""y - U to y + U with U = 2u: what one reading leaves open, in standard deviations."""

REPEAT, TOGETHER, PERSON, CUP = "repeat", "person x cup", "person", "cup"
_ABOVE = {TOGETHER: REPEAT, PERSON: TOGETHER, CUP: TOGETHER}
"""The mean square that each is compared with."""


@dataclass(frozen=True, slots=True)
class VarianceRow:
    """A row of the analysis of variance."""

    source: str
    squares: float
    freedom: int

    @property
    def mean_square(self) -> float:
        return self.squares / self.freedom


@dataclass(frozen=True, slots=True)
class MeasuringStudy:
    """Standard deviations, in the unit of the readings.

    ``repeatability``: the same person, the same cup, again. ``person_sd``: people differ on all
    cups alike. ``interaction_sd``: people differ on some cups. ``reproducibility_sd`` joins these
    two, ``measuring`` all three. ``cup_sd``: the cups themselves. The intervals' ``count`` is the
    number of readings. ``offsets``: each person's mean less the mean of all.
    """

    people: int
    cups: int
    readings: int
    repeatability: Estimate
    person_sd: float
    interaction_sd: float
    measuring: Estimate
    cup_sd: float
    offsets: tuple[tuple[Hashable, float], ...]
    rows: tuple[VarianceRow, ...]

    @property
    def reproducibility_sd(self) -> float:
        return math.hypot(self.person_sd, self.interaction_sd)

    def share_of(self, band: float, *, sds: float = SDS_ACROSS) -> Estimate:
        """Share of a band's width that one reading leaves open; 1 is all of it, or more.

        Parameters
        ----------
        band : float
            Width of a check's band, or of a tolerance, in the unit of the readings.
        sds : float
            How many standard deviations count as the measuring's width. Gauge studies in industry
            take 6.
        """
        if not band > 0:
            raise CannotTellError("A band must be wider than nothing.")
        sd = self.measuring
        return Estimate(*(sds * each / band for each in (sd.value, sd.low, sd.high)), sd.count)


def measuring_study(
    people: Sequence[Hashable], cups: Sequence[Hashable], values: Sequence[float]
) -> MeasuringStudy:
    """Split the spread of readings into cups, people, both together, and repeats.

    A mean square that is not above the one it is compared with is pooled with it, the smallest
    first, and its component is zero: on balanced data that is the restricted maximum likelihood.
    Where some cups were measured more often than others, the analysis is that of unweighted means
    with the harmonic mean of the repeats, an approximation.

    Parameters
    ----------
    people, cups : sequence, length n
        Who measured which cup, a row a reading.
    values : array_like, shape (n,)
        The readings, one quantity, one unit.

    Raises
    ------
    CannotTellError
        Too few people, cups or repeats, a figure missing, or somebody left a cup out (said whom).

    References
    ----------
    .. [1] R. K. Burdick, C. M. Borror, D. C. Montgomery, A review of methods for measurement
       systems capability analysis, Journal of Quality Technology 35 (2003) 342-354 (the intervals).
    .. [2] W. A. Thompson, The problem of negative estimates of variance components, Annals of
       Mathematical Statistics 33 (1962) 273-289 (the pooling).
    """
    values = np.asarray(values, dtype=float)
    if not len(people) == len(cups) == len(values) or not np.isfinite(values).all():
        raise CannotTellError("Every reading needs a person, a cup and a number.")
    whose, which = list(dict.fromkeys(people)), list(dict.fromkeys(cups))
    counts, means, within = _cells(whose, which, people, cups, values)
    o, p, again = len(whose), len(which), len(values) - counts.size
    if o < FEWEST_PEOPLE or p < FEWEST_CUPS or again < FEWEST_AGAIN:
        raise CannotTellError(
            f"{o} people, {p} cups and {again} repeats: it takes {FEWEST_PEOPLE} people, "
            f"{FEWEST_CUPS} cups and {FEWEST_AGAIN} repeats (a second reading of ten cups, say)."
        )
    r = counts.size / float(np.sum(1 / counts))
    rows = _analysis(means, r, within, again)
    square, group = _pooled(rows)
    if square[REPEAT] == 0:
        raise CannotTellError(
            "All repeats read the same: the instrument is too coarse for this study. "
            "Measure with a finer one, or estimate between its marks."
        )
    base = square[TOGETHER]
    person = (square[PERSON] - base) / (p * r) if group[PERSON] == PERSON else 0.0
    both = (base - square[REPEAT]) / r if group[TOGETHER] != REPEAT else 0.0
    cup = (square[CUP] - base) / (o * r) if group[CUP] == CUP else 0.0
    repeat = math.sqrt(square[REPEAT])
    weights = {PERSON: 1 / (p * r), TOGETHER: (p - 1) / (p * r), REPEAT: (r - 1) / r}
    return MeasuringStudy(
        people=o,
        cups=p,
        readings=len(values),
        repeatability=_interval(repeat, rows, {REPEAT: 1.0}, len(values)),
        person_sd=math.sqrt(person),
        interaction_sd=math.sqrt(both),
        measuring=_interval(math.sqrt(person + both + repeat**2), rows, weights, len(values)),
        cup_sd=math.sqrt(cup),
        offsets=tuple(zip(whose, map(float, means.mean(axis=1) - means.mean()), strict=True)),
        rows=rows,
    )


def _cells(whose, which, people, cups, values):
    """Counts and means by person and cup, and the sum of squares within."""
    row = np.array([whose.index(each) for each in people], dtype=int)
    column = np.array([which.index(each) for each in cups], dtype=int)
    counts = np.zeros((len(whose), len(which)))
    sums = np.zeros_like(counts)
    np.add.at(counts, (row, column), 1)
    np.add.at(sums, (row, column), values)
    for i, j in np.argwhere(counts == 0):
        raise CannotTellError(
            f"{whose[i]} has not measured {which[j]}. Everybody must measure every cup: "
            "add the reading, or leave the person or the cup out."
        )
    means = sums / counts if counts.size else counts
    return counts, means, float(np.sum((values - means[row, column]) ** 2))


def _analysis(means: np.ndarray, r: float, within: float, again: int) -> tuple[VarianceRow, ...]:
    o, p = means.shape
    whole = means.mean()
    by_person, by_cup = means.mean(axis=1), means.mean(axis=0)
    rest = means - by_person[:, None] - by_cup + whole
    return (
        VarianceRow(CUP, r * o * float(np.sum((by_cup - whole) ** 2)), p - 1),
        VarianceRow(PERSON, r * p * float(np.sum((by_person - whole) ** 2)), o - 1),
        VarianceRow(TOGETHER, r * float(np.sum(rest**2)), (o - 1) * (p - 1)),
        VarianceRow(REPEAT, within, again),
    )


def _pooled(rows: tuple[VarianceRow, ...]) -> tuple[dict[str, float], dict[str, str]]:
    """Mean squares with those pooled that are not above the next, and who went into whom."""
    squares = {row.source: row.squares for row in rows}
    freedom = {row.source: row.freedom for row in rows}
    group = {row.source: row.source for row in rows}

    def size(source: str) -> float:
        return squares[group[source]] / freedom[group[source]]

    while True:
        low = [
            each
            for each, above in _ABOVE.items()
            if group[each] == each and size(each) <= size(above)
        ]
        if not low:
            return {source: size(source) for source in group}, group
        least = min(low, key=size)
        into = group[_ABOVE[least]]
        squares[into] += squares[least]
        freedom[into] += freedom[least]
        group = {source: into if at == least else at for source, at in group.items()}


def _interval(
    sd: float, rows: tuple[VarianceRow, ...], weights: dict[str, float], count: int
) -> Estimate:
    """Interval of the root of a sum of weighted mean squares, all weights >= 0 (Burdick et al.)."""
    tail = (1 - COVERAGE) / 2
    middle = below = above = 0.0
    for row in rows:
        part = weights.get(row.source, 0.0) * row.mean_square
        middle += part
        below += ((1 - row.freedom / chi2_quantile(1 - tail, row.freedom)) * part) ** 2
        above += ((row.freedom / chi2_quantile(tail, row.freedom) - 1) * part) ** 2
    low = math.sqrt(max(middle - math.sqrt(below), 0.0))
    return Estimate(sd, min(low, sd), max(math.sqrt(middle + math.sqrt(above)), sd), count)
