"""From marks to a grade: per cent of the weight assessed, and its label on the section's scale."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from rubrics.craft.grade import Share, Working, work_out
from rubrics.models import Criterion, Mark
from studio.models import GradeBand


@dataclass(frozen=True, slots=True)
class Grade:
    """A grade with the sum behind it.

    ``percent`` is None where no criterion was assessed; it is rounded once, half up. ``counted``
    is the weight assessed, ``total`` the weight of the whole rubric; ``working`` has the lines.
    """

    percent: Decimal | None
    label: str
    edge: Decimal | None
    """The per cent from which the label is given."""
    counted: Decimal
    total: Decimal
    working: Working


def grade_of_marks(
    criteria: Sequence[Criterion], marks: Iterable[Mark], bands: Iterable[GradeBand]
) -> Grade:
    """Work out a grade; no query where levels are prefetched with the criteria and marks."""
    by_criterion = {mark.criterion_id: mark for mark in marks if mark.decided}
    working = work_out([_share(each, by_criterion.get(each.pk)) for each in criteria])
    band = None if working.percent is None else band_of(working.percent, bands)
    return Grade(
        percent=working.percent,
        label=band.label if band else "",
        edge=band.from_percent if band else None,
        counted=working.weight_counted,
        total=working.weight_total,
        working=working,
    )


def band_of(percent: Decimal, bands: Iterable[GradeBand]) -> GradeBand | None:
    """The highest band that starts at or below a percentage; None below them all."""
    reached = [band for band in bands if band.from_percent <= percent]
    return max(reached, key=lambda band: band.from_percent, default=None)


def _share(criterion: Criterion, mark: Mark | None) -> Share:
    """A criterion's part: its level's points out of those of its highest level."""
    return Share(
        name=str(criterion),
        weight=criterion.weight,
        score=mark.level.points if mark is not None and mark.level is not None else None,
        top=max(level.points for level in criterion.levels.all()),
        excused=mark is not None and mark.excused,
    )
