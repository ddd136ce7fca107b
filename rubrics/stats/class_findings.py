"""What a whole class shows: what to teach again, and where the plan is the likely cause.

The class at hand is taken for a sample of pieces made in this way, after this teaching and from
this plan: the question is what the next class would do. A figure is brought up only where so many
misses would come by chance, on all figures of the page together, in 1 of 20 classes at most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .distributions import binomial_interval, binomial_tail
from .errors import CannotTellError
from .estimates import Estimate
from .family import CHANCE, holm, room

MOST = 0.5
"""To teach again: more than this share would miss it. Under it, single students are helped."""

NEARLY_ALL = 0.8
"""To suspect the plan: so large a share of this class misses on one side (our choice; hands that
err do so to either side of a plan)."""

TEACH_AGAIN, LOOK_AT_PLAN, NOTHING = "teach again", "look at the plan", ""


@dataclass(frozen=True, slots=True)
class Counted:
    """A figure of the class: of ``told`` pieces (measured, and not too close to call), so many
    lie outside on the low and on the high side. ``planned`` says that the figure is held against
    a planned size that it can miss on either side (an opening, a shrinkage), so that a whole class
    on one side points to the plan; a rim's rise is not."""

    name: str
    told: int
    low: int = 0
    high: int = 0
    planned: bool = False


@dataclass(frozen=True, slots=True)
class ClassFinding:
    """One figure: the share that misses with its exact interval, and what that asks for.

    ``side`` is the side on which most misses lie, "low" or "high", "" if none or even. ``chance``
    is that of so many misses where half the classes' pieces miss, ``held`` the same beside all
    that the page shows; ``plan_held`` that of so many on one side (1 without a planned size).
    """

    name: str
    missed: int
    share: Estimate
    word: str
    side: str
    chance: float
    held: float
    plan_held: float = 1.0


def class_findings(
    counts: Sequence[Counted], *, chance: float = CHANCE
) -> tuple[ClassFinding, ...]:
    """Judge all figures that one page shows together.

    ``teach again``: more than half would miss it, by the exact one-sided binomial test against
    :data:`MOST`. ``look at the plan``: more than half would miss it on that side, tested in the
    same way, and :data:`NEARLY_ALL` of this class do, on a figure with a planned size. Holm's rule
    over all these tests, those left out whose class is too small to show anything.

    Returns
    -------
    tuple of ClassFinding
        The surest first; figures of which no piece is told are left out.

    Raises
    ------
    CannotTellError
        More misses than pieces.
    """
    counts = [each for each in counts if each.told > 0]
    for each in counts:
        if min(each.low, each.high) < 0 or each.low + each.high > each.told:
            raise CannotTellError(f"{each.name}: more misses than pieces.")
    tests = {(i, False): _tail(each, each.low + each.high) for i, each in enumerate(counts)}
    # The side is chosen after seeing the class, so that its chance counts twice.
    tests |= {
        (i, True): min(1.0, 2 * _tail(each, max(each.low, each.high)))
        for i, each in enumerate(counts)
        if each.planned
    }
    least = {at: (1 + at[1]) * _tail(counts[at[0]], counts[at[0]].told) for at in tests}
    share = chance / room(list(least.values()), chance)
    inside = [at for at in tests if least[at] <= share]
    held = dict(zip(inside, holm([tests[at] for at in inside]), strict=True))
    found = [
        _finding(each, tests[i, False], held.get((i, False), 1.0), held.get((i, True), 1.0), chance)
        for i, each in enumerate(counts)
    ]
    return tuple(sorted(found, key=lambda each: (each.held, each.chance)))


def _tail(counted: Counted, missed: int) -> float:
    return binomial_tail(missed, counted.told, MOST)


def _finding(
    counted: Counted, own: float, held: float, plan_held: float, chance: float
) -> ClassFinding:
    missed, told = counted.low + counted.high, counted.told
    one_side = max(counted.low, counted.high)
    word = TEACH_AGAIN if held <= chance else NOTHING
    if plan_held <= chance and one_side >= NEARLY_ALL * told:
        word = LOOK_AT_PLAN
    side = "" if counted.low == counted.high else "low" if counted.low > counted.high else "high"
    share = Estimate(missed / told, *binomial_interval(missed, told), told)
    return ClassFinding(counted.name, missed, share, word, side, own, held, plan_held)
