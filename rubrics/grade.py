"""From marks to a grade: per cent of the weight assessed, and its label on the section's scale."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from rubrics.models import Criterion, Mark
from studio.models import GradeBand


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sum: what a criterion adds. ``points`` is None where it is left out."""

    criterion: Criterion
    weight: Decimal
    points: Decimal | None
    best: Decimal
    product: Decimal | None
    excused: bool


@dataclass(frozen=True, slots=True)
class Grade:
    """A grade with the sum behind it.

    ``percent`` is None where no criterion was assessed; it is rounded once, half up. ``counted``
    is the weight assessed, ``total`` the weight of the whole rubric.
    """

    percent: Decimal | None
    label: str
    counted: Decimal
    total: Decimal
    lines: tuple[Line, ...]
    earned: Decimal
    possible: Decimal


def grade_of_marks(
    criteria: Sequence[Criterion], marks: Iterable[Mark], bands: Sequence[GradeBand]
) -> Grade:
    """Work out a grade; no query where levels are prefetched with the criteria and marks."""
    by_criterion = {mark.criterion_id: mark for mark in marks if mark.decided}
    lines = tuple(_line(criterion, by_criterion.get(criterion.pk)) for criterion in criteria)
    counted = [line for line in lines if line.points is not None]
    earned = sum((line.product for line in counted), Decimal(0))
    possible = sum((line.weight * line.best for line in counted), Decimal(0))
    percent = (
        (100 * earned / possible).quantize(Decimal(1), ROUND_HALF_UP) if possible > 0 else None
    )
    return Grade(
        percent=percent,
        label="" if percent is None else band_label(percent, bands),
        counted=sum((line.weight for line in counted), Decimal(0)),
        total=sum((line.weight for line in lines), Decimal(0)),
        lines=lines,
        earned=earned,
        possible=possible,
    )


def band_label(percent: Decimal, bands: Iterable[GradeBand]) -> str:
    """The label of the highest band that starts at or below a percentage; "" below them all."""
    reached = [band for band in bands if band.from_percent <= percent]
    return max(reached, key=lambda band: band.from_percent).label if reached else ""


def _line(criterion: Criterion, mark: Mark | None) -> Line:
    best = max((level.points for level in criterion.levels.all()), default=Decimal(0))
    points = mark.level.points if mark is not None and mark.level is not None else None
    return Line(
        criterion=criterion,
        weight=criterion.weight,
        points=points,
        best=best,
        product=None if points is None else criterion.weight * points,
        excused=mark is not None and mark.excused,
    )
