"""Shrinkage of a clay as measured on the pieces made of it, compared with the clay's plan."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from rubrics.craft.plan import Plan
from rubrics.craft.pooling import FEWEST, Pooled, pool
from rubrics.craft.readings import ReadingsError
from rubrics.craft.sheet import Sheet
from rubrics.craft.shrinkage import from_sheet
from rubrics.evidence.collect import rows_of
from studio import access
from studio.models import Clay, Outcome, Reading, Stage
from studio.projects.starter_clays import LATER_STAGES
from studio.ware.stages import STAGE_PLACE

WHOLE_PERCENT = 100.0

BADLY_FIRED = ("underfired", "overfired", "bloat")
"""Outcomes after which a size tells the kiln and not the clay: too little heat shrinks too little,
too much shrinks more and then swells (common practice, no source)."""

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
    left_out: int = 0
    """Pieces that were read at this stage and do not count, because they were badly fired."""

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
    that is in question does not count, nor does a piece from the stage on at which it was ruled
    badly fired. The number of queries does not depend on the pieces.
    """
    planned = {each.stage: float(each.percent) for each in clay.shrinkages.all()}
    by_stage, left_out = _by_stage(clay, user)
    return [
        replace(
            _one(stage, by_stage.get(stage, []), planned.get(stage)),
            left_out=left_out.get(stage, 0),
        )
        for stage in LATER_STAGES
    ]


def _by_stage(clay: Clay, user) -> tuple[dict[str, list[float]], Counter[str]]:
    """Shrinkages by stage, and how many pieces were left out as badly fired."""
    readings = Reading.objects.filter(
        quantity="dimension",
        piece__project__plan__clay=clay,
        piece__section__in=access.read_sections(user),
    )
    found: defaultdict[str, list[float]] = defaultdict(list)
    left_out: Counter[str] = Counter()
    spoiled = _badly_fired_from(clay)
    for piece_id, rows in rows_of(readings).items():
        sheet = Sheet([row.reading for row in rows if not row.doubt])
        for stage in sheet.stages(("dimension",)) - {Stage.WET}:
            try:
                told = from_sheet(sheet, stage, _NO_PLAN).linear_shrinkage
            except ReadingsError:
                continue  # nothing read wet, or not to be read: the piece tells nothing here
            if STAGE_PLACE[stage] >= spoiled.get(piece_id, len(STAGE_PLACE)):
                left_out[stage] += 1
            else:
                found[stage].append(told)
    return found, left_out


def _badly_fired_from(clay: Clay) -> dict[int, int]:
    """Place of the first stage at which a piece was noted as badly fired, by piece id."""
    first: dict[int, int] = {}
    noted = Outcome.objects.filter(piece__project__plan__clay=clay, kind__in=BADLY_FIRED)
    for piece_id, stage in noted.values_list("piece_id", "stage"):
        place = STAGE_PLACE[stage]
        first[piece_id] = min(first.get(piece_id, place), place)
    return first


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
