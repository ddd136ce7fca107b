"""The next step: of all that a piece was judged by, what cost most and can be changed next time.

The cost of a criterion is its weight times the points it lost; that of an outcome is what all the
criteria lost that it touched. What explains the loss comes before what does not: a figure that is
no better than the level given, or an outcome. Of several equal ones the one that its maker changes
most easily is taken, as its descriptor says, and an outcome before a figure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from decimal import Decimal

from rubrics.checks.descriptor import HARDEST, Facts
from rubrics.checks.outcomes import checks_touched_by
from rubrics.checks.register import check_of, figure_of
from rubrics.craft.levels import HIGHEST_LEVEL, LOWEST_LEVEL, level_of
from rubrics.craft.results import OUTSIDE
from studio.ware.outcomes import KILN

from .language import as_written, marked, own_words, said
from .outcomes import SURFACE_OUTCOMES, SURFACE_WORDS, lesson_of
from .shown import PublishedAssessment, ShownCriterion
from .wording import judged_of

FINDING, OUTCOME, CRITERION, ALL_HIGH = "finding", "outcome", "criterion", "all high"

OUTCOME_EASE = 1
"""An outcome's lesson is one habit of work (our proposal)."""


@dataclass(frozen=True, slots=True)
class StepSource:
    """Where a next step comes from, so that it can be said again in another language.

    ``name`` is a figure's key, an outcome's word, or a criterion's letter, by ``kind``.
    """

    kind: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class _Candidate:
    step: StepSource
    cost: Decimal
    explains: bool
    ease: int
    beyond: float
    """How far beyond its limit, as a share of it."""

    @property
    def rank(self) -> tuple:
        is_figure = self.step.kind != OUTCOME
        return (-self.cost, not self.explains, self.ease, is_figure, -self.beyond, self.step.name)


def choose(shown: PublishedAssessment) -> StepSource | None:
    """Choose the next step; None where nothing was judged yet."""
    judged = [each for each in shown["criteria"] if each["level"] is not None]
    if not judged:
        return None
    lost = [each for each in judged if _lost(each) > 0]
    found = [one for each in lost for one in _candidates(shown, each)]
    found += [
        _Candidate(StepSource(OUTCOME, kind), _touched(kind, lost), True, OUTCOME_EASE, 0.0)
        for kind in _lessons(shown)
    ]
    said_ones = (one.step for one in sorted(found, key=lambda one: one.rank))
    return next((step for step in said_ones if step_said(shown, step)), StepSource(ALL_HIGH))


def step_said(shown: PublishedAssessment, step: StepSource) -> str:
    """Say a step in the language spoken."""
    if step.kind == FINDING:
        facts = shown["checks"][check_of(step.name).name]["facts"]
        judged = _judged(facts, step.name.partition(".")[2])
        return check_of(step.name).advise(facts, judged).next_time
    if step.kind == OUTCOME:
        lesson = own_words(lesson_of(step.name))
        return said(_NEXT_TIME, lesson=f"{lesson[:1].lower()}{lesson[1:]}")
    if step.kind == CRITERION:
        criterion = next(each for each in shown["criteria"] if each["letter"] == step.name)
        above = criterion.get("above", "")
        return above and said(_AIM, name=own_words(criterion["name"]), descriptor=as_written(above))
    return said("Everything reached the highest level: choose the next challenge together.")


_NEXT_TIME = marked("Next time: {lesson}")
_AIM = marked("Next time, aim for this in “{name}”: {descriptor}")


def as_dict(step: StepSource) -> dict[str, str]:
    """A step as plain JSON, to be frozen."""
    return asdict(step)


def _lost(criterion: ShownCriterion) -> Decimal:
    """Weight times the points that the level is below the highest."""
    top = Decimal(criterion.get("top") or "100")
    return Decimal(criterion["weight"]) * (top - Decimal(criterion["points"]))


def _touched(kind: str, lost: list[ShownCriterion]) -> Decimal:
    """What an outcome cost: the losses of the criteria that it touched."""
    return sum((_lost(each) for each in lost if _concerns(kind, each)), Decimal(0))


def _candidates(shown: PublishedAssessment, criterion: ShownCriterion) -> Iterator[_Candidate]:
    cost = _lost(criterion)
    found = list(_findings(shown, criterion, cost))
    yield from found
    if criterion.get("above"):
        alone = not found and not any(_concerns(kind, criterion) for kind in _lessons(shown))
        yield _Candidate(StepSource(CRITERION, criterion["letter"]), cost, alone, HARDEST, 0.0)


def _findings(
    shown: PublishedAssessment, criterion: ShownCriterion, cost: Decimal
) -> Iterator[_Candidate]:
    """The figures of a criterion that are below the highest level, each with its ease."""
    for limit in criterion.get("limits", ()):
        key, bounds = limit["figure"], [float(limit[bound]) for bound in "abc"]
        check, _, name = key.partition(".")
        facts = shown["checks"].get(check, {}).get("facts", {})
        value = facts.get(name)
        if value is None or facts.get("refused"):
            continue
        level = LOWEST_LEVEL if facts.get("through") else level_of(abs(value), bounds)
        if level < HIGHEST_LEVEL:
            beyond = abs(value) / bounds[1] if bounds[1] else abs(value)
            explains = level <= criterion["level"]
            yield _Candidate(StepSource(FINDING, key), cost, explains, figure_of(key).ease, beyond)


def _judged(facts: Facts, name: str) -> Facts:
    """A figure as it was judged; made up where the check's own verdict left it out."""
    made = {"figure": name, "value": facts[name], "u": facts.get(f"u_{name}") or 0.0}
    return judged_of(facts, name) or made | {"limit": 0.0, "verdict": OUTSIDE}


def _lessons(shown: PublishedAssessment) -> list[str]:
    """The outcomes that teach their maker something."""
    return [
        each["kind"]
        for each in shown.get("outcomes", ())
        if each["doing"] != KILN and lesson_of(each["kind"])
    ]


def _concerns(kind: str, criterion: ShownCriterion) -> bool:
    if criterion["checks"]:
        return not checks_touched_by(kind).isdisjoint(criterion["checks"])
    words = f"{criterion['name']} {criterion['descriptor']}"
    return kind in SURFACE_OUTCOMES and bool(SURFACE_WORDS.search(words))
