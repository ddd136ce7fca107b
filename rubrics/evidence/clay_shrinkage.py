"""Shrinkage of a clay as measured on the pieces made of it, compared with the clay's plan."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from rubrics.craft.plan import Plan
from rubrics.craft.pooling import FEWEST, Pooled, pool
from rubrics.craft.readings import ReadingsError
from rubrics.craft.sheet import Sheet
from rubrics.craft.shrinkage import from_sheet
from rubrics.evidence.collect import rows_of
from studio import access
from studio.models import Clay, Reading, Stage
from studio.projects.starter_clays import LATER_STAGES

WHOLE_PERCENT = 100.0
_NO_PLAN = Plan(sizes_mm={}, shrinkage={}, shrinkage_spread={}, capacity_ml=None, limits={})


@dataclass(frozen=True, slots=True)
class PiecesShrinkage:
    """Shrinkage to one stage as the pieces have it, and as the clay's plan has it. [%]"""

    stage: Stage
    pieces: int
    percent: float | None = None
    low: float | None = None
    high: float | None = None
    spread: float | None = None
    planned: float | None = None

    @property
    def still_needed(self) -> int:
        """How many pieces are missing before anything is told."""
        return max(FEWEST - self.pieces, 0)

    @property
    def differs(self) -> bool:
        """Whether the plan's value lies outside the interval of the pieces' mean."""
        return (
            self.planned is not None
            and self.low is not None
            and not self.low <= self.planned <= self.high
        )


def pieces_shrinkage(clay: Clay, user) -> list[PiecesShrinkage]:
    """Shrinkage of a clay by stage, from the pieces that a user may read.

    Each piece counts once a stage, with the shrinkage pooled over its own dimensions; a reading
    that is in question does not count. The number of queries does not depend on the pieces.
    """
    planned = {each.stage: float(each.percent) for each in clay.shrinkages.all()}
    by_stage = _by_stage(clay, user)
    return [_one(stage, by_stage.get(stage, []), planned.get(stage)) for stage in LATER_STAGES]


def _by_stage(clay: Clay, user) -> dict[str, list[float]]:
    readings = Reading.objects.filter(
        quantity="dimension",
        piece__project__plan__clay=clay,
        piece__section__in=access.read_sections(user),
    )
    found: defaultdict[str, list[float]] = defaultdict(list)
    for rows in rows_of(readings).values():
        sheet = Sheet([row.reading for row in rows if not row.doubt])
        for stage in sheet.stages(("dimension",)) - {Stage.WET}:
            try:
                found[stage].append(from_sheet(sheet, stage, _NO_PLAN).linear_shrinkage)
            except ReadingsError:
                continue  # nothing read wet, or not to be read: the piece tells nothing here
    return found


def _one(stage: Stage, values: list[float], planned: float | None) -> PiecesShrinkage:
    if len(values) < FEWEST:
        return PiecesShrinkage(stage, len(values), planned=planned)
    pooled: Pooled = pool(values)
    return PiecesShrinkage(
        stage,
        pooled.pieces,
        percent=pooled.mean * WHOLE_PERCENT,
        low=pooled.low * WHOLE_PERCENT,
        high=pooled.high * WHOLE_PERCENT,
        spread=pooled.spread * WHOLE_PERCENT,
        planned=planned,
    )
