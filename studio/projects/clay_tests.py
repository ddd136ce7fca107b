"""Every write to a clay's tests, and taking their results over as the clay's plan."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal

from django.db import transaction

from studio.models import AbsorptionTest, BarReading, Clay, ClayBar, ClayShrinkage
from studio.planning.bars import Absorption, BarResult, absorption, bar_shrinkage
from studio.projects.starter_clays import STARTER_SPREAD
from studio.ware.shrinkage import is_plausible

HUNDREDTH = Decimal("0.01")
HIGHEST_SPREAD = Decimal(10)
WHOLE_PERCENT = 100


class ClayTestError(ValueError):
    """A change that cannot be made; the message is a sentence for the teacher."""


@transaction.atomic
def keep_bar(clay: Clay, label: str, lengths: Mapping[str, float], bar: ClayBar | None = None):
    """Save a bar with its length by stage [mm]; a stage left out is taken away."""
    bar = bar or ClayBar(clay=clay)
    bar.label = label
    bar.save()
    bar.readings.exclude(stage__in=lengths).delete()
    for stage, length in lengths.items():
        BarReading.objects.update_or_create(bar=bar, stage=stage, defaults={"length_mm": length})
    return bar


def result_of(bars) -> BarResult:
    """What bars with their readings fetched say."""
    lengths = [{r.stage: r.length_mm for r in bar.readings.all()} for bar in bars]
    return bar_shrinkage(lengths)


def absorptions(tests) -> list[tuple[AbsorptionTest, Absorption]]:
    """Each weighing with what it says."""
    return [(test, absorption(test.dry_g, test.soaked_g, test.suspended_g)) for test in tests]


def mean_absorption_percent(told: list[tuple[AbsorptionTest, Absorption]]) -> Decimal | None:
    """Mean absorption of all weighings. [%]"""
    if not told:
        return None
    return _hundredths(sum(each.absorption_percent for _, each in told) / len(told))


def _hundredths(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(HUNDREDTH, ROUND_HALF_UP)


@transaction.atomic
def take_shrinkage(
    clay: Clay, told: Mapping[str, tuple[float, float | None]]
) -> dict[str, Decimal]:
    """Plan a clay with what was found: percent and spread [%] by stage; other stages stay.

    A spread of None, as a single bar gives it, leaves the spread that was planned.

    Raises
    ------
    ClayTestError
        A shrinkage that no clay has.
    """
    kept = {}
    for stage, (found, found_spread) in told.items():
        percent = _hundredths(found)
        if not is_plausible(float(percent) / WHOLE_PERCENT):
            raise ClayTestError(
                f"{percent} % is no shrinkage of a clay. Look at the readings; nothing was changed."
            )
        row = ClayShrinkage.objects.filter(clay=clay, stage=stage).first()
        row = row or ClayShrinkage(clay=clay, stage=stage, spread_percent=STARTER_SPREAD)
        row.percent = percent
        if found_spread is not None:
            row.spread_percent = min(max(_hundredths(found_spread), HUNDREDTH), HIGHEST_SPREAD)
        row.save()
        kept[stage] = percent
    return kept


def take_absorption(clay: Clay, percent: Decimal) -> None:
    """Plan a clay with the absorption that was weighed."""
    clay.absorption_percent = percent
    clay.save(update_fields=["absorption_percent"])
