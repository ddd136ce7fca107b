"""What a second look found: agreement by criterion, percents beside each other, in plain words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rubrics.judging.grade import grade_of_marks
from rubrics.models import Criterion, Mark, SecondLook, SecondLookPiece, Settled
from rubrics.stats.agreement import (
    CriterionAgreement,
    Limits,
    compare,
    icc_2_1,
    limits_of_agreement,
)
from rubrics.stats.errors import CannotTellError
from rubrics.stats.estimates import Estimate

CARRIES = 0.6
"""Kappa from which levels are taken to say much the same: "substantial" begins at 0.61 in J. R.
Landis, G. G. Koch, Biometrics 33 (1977) 159-174, who call their steps arbitrary."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A criterion on which the two looks differ, and what became of it."""

    place: SecondLookPiece
    criterion: Criterion
    first: int
    second: int
    settled: Settled | None

    @property
    def apart(self) -> int:
        return abs(self.first - self.second)


@dataclass(frozen=True, slots=True)
class CriterionResult:
    """Agreement on one criterion (None: on all together), and what it asks for."""

    criterion: Criterion | None
    agreement: CriterionAgreement
    what_to_do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondLookResult:
    """All that a result page shows. ``percents`` are (first, second) by piece, over the criteria
    that both judged; what cannot be told has its sentence in ``because``."""

    criteria: Sequence[CriterionResult]
    together: CriterionResult | None
    percents: Sequence[tuple[float, float]]
    icc: Estimate | None
    icc_because: str
    limits: Limits | None
    limits_because: str
    differences: Sequence[Difference]
    first: Sequence[Sequence[float]]
    second: Sequence[Sequence[float]]

    @property
    def open_differences(self) -> int:
        return sum(each.settled is None for each in self.differences)


def compare_looks(look: SecondLook) -> SecondLookResult:
    """Compare the first levels, as they were drawn, with the second.

    No query of its own where the look was loaded ``with_levels``.
    """
    criteria, places = list(look.rubric.criteria.all()), list(look.places.all())
    numbers = {level.pk: level.number for each in criteria for level in each.levels.all()}
    pairs = [(place, _first(place), _second(place, numbers)) for place in places]
    first = [[one.get(each.pk, math.nan) for each in criteria] for _, one, _ in pairs]
    second = [[two.get(each.pk, math.nan) for each in criteria] for _, _, two in pairs]
    percents = [both for _, one, two in pairs if (both := _percents(criteria, one, two))]
    table = np.array(percents).reshape(-1, 2)
    icc, icc_because = _try(lambda: icc_2_1(table))
    limits, limits_because = _try(lambda: limits_of_agreement(table[:, 0], table[:, 1]))
    told = compare(first, second) if places else None
    return SecondLookResult(
        criteria=[
            CriterionResult(criterion, agreement, what_to_do(agreement))
            for criterion, agreement in zip(criteria, told.criteria if told else (), strict=False)
        ],
        together=CriterionResult(None, told.together, what_to_do(told.together)) if told else None,
        percents=percents,
        icc=icc,
        icc_because=icc_because,
        limits=limits,
        limits_because=limits_because,
        differences=_differences(criteria, pairs),
        first=first,
        second=second,
    )


def _try(tell):
    """A figure, or None with the sentence why it cannot be told."""
    try:
        return tell(), ""
    except CannotTellError as error:
        return None, str(error)


def _first(place: SecondLookPiece) -> dict[int, int]:
    return {int(criterion): level for criterion, level in place.first.items()}


def _second(place: SecondLookPiece, numbers: Mapping[int, int]) -> dict[int, int]:
    marks = place.assessment.marks.all() if place.assessment else ()
    return {mark.criterion_id: numbers[mark.level_id] for mark in marks if mark.level_id}


def _percents(
    criteria: Sequence[Criterion], one: Mapping[int, int], two: Mapping[int, int]
) -> tuple[float, float] | None:
    """Both percents over the criteria that both judged; None where there is none."""
    shared = [each for each in criteria if each.pk in one and each.pk in two]
    if not shared:
        return None
    return tuple(
        float(grade_of_marks(shared, [_mark(each, levels[each.pk]) for each in shared], ()).percent)
        for levels in (one, two)
    )


def _mark(criterion: Criterion, number: int) -> Mark:
    """A mark that is never saved, to work out a percent from."""
    level = next(each for each in criterion.levels.all() if each.number == number)
    return Mark(criterion=criterion, level=level)


def _differences(criteria, pairs) -> list[Difference]:
    """Those furthest apart first."""
    found = []
    for place, one, two in pairs:
        settled = {each.criterion_id: each for each in place.settled.all()}
        found += [
            Difference(place, each, one[each.pk], two[each.pk], settled.get(each.pk))
            for each in criteria
            if each.pk in one and each.pk in two and one[each.pk] != two[each.pk]
        ]
    return sorted(found, key=lambda each: (-each.apart, each.place.number))


def what_to_do(told: CriterionAgreement) -> str:
    """One sentence of advice from a criterion's agreement and its interval."""
    if told.shares is None:
        return "Too little to advise on."
    if told.kappa is None:
        return _by_share(told)
    if told.kappa.low >= CARRIES:
        return "Both looks order the pieces much alike. Settle the few that differ."
    if told.kappa.high < CARRIES:
        return (
            "The looks differ too much to carry a grade. Lay the pieces that differ side by side, "
            f"agree on what parts the levels, and sharpen the words.{_lean(told)}"
        )
    return (
        "The sample leaves open whether the looks agree well enough. Settle the pieces that "
        f"differ; a closer precision next time draws more pieces.{_lean(told)}"
    )


def _by_share(told: CriterionAgreement) -> str:
    if told.same == told.marks:
        return "All levels are the same."
    return f"{told.marks - told.same} of {told.marks} levels differ: settle them.{_lean(told)}"


LEAN = 3
"""Differences one way, for each the other way, from which a lean is worth a word (our choice)."""


def _lean(told: CriterionAgreement) -> str:
    """Which way the second look leans, where it leans clearly."""
    if told.higher >= LEAN * max(told.lower, 1):
        return " The second look is mostly the kinder one."
    if told.lower >= LEAN * max(told.higher, 1):
        return " The second look is mostly the stricter one."
    return ""


def limits_said(limits: Limits) -> str:
    """What the limits of agreement mean for a grade."""
    low, mean, high = (f"{each.value:+.1f}" for each in (limits.low, limits.mean, limits.high))
    reach = max(abs(limits.low.value), abs(limits.high.value))
    return (
        f"The second look gave {mean} points on the average; for 19 pieces in 20 the difference "
        f"lies between {low} and {high} points. A grade within {reach:.0f} points of an edge of "
        "the scale deserves a second look."
    )
