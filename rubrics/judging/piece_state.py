"""What a judge should know of a piece beside its figures: what came of it, and how old they are."""

from __future__ import annotations

from collections.abc import Iterable

from rubrics.craft.results import Refused
from rubrics.judging.batch import Batch
from rubrics.models import Criterion
from rubrics.rubric.descriptor_figures import mismatches
from studio.models import Outcome, Piece
from studio.ware.stages import STAGE_PLACE


def outcome_words(outcomes: Iterable[Outcome]) -> str:
    """What came of a piece in the trade's words; "" where nothing was noted."""
    return ", ".join(dict.fromkeys(outcome.kind for outcome in outcomes))


def checks_of(criterion: Criterion) -> list[str]:
    """Names of the checks that a criterion leans on; limits should be prefetched."""
    return list(dict.fromkeys(each.figure.partition(".")[0] for each in criterion.limits.all()))


def descriptor_notes(criterion: Criterion) -> list[str]:
    """Where the words of a level name another figure than its limit, a sentence each."""
    found = mismatches(
        [(level.number, level.descriptor) for level in criterion.levels.all()],
        [
            (each.figure, [float(bound) for bound in (each.a, each.b, each.c)])
            for each in criterion.limits.all()
        ],
    )
    return [
        f"{criterion.letter} {criterion.name}, level {each.level}: {each.words}" for each in found
    ]


def stages_read(batch: Batch, piece: Piece, criterion: Criterion) -> tuple[str, ...]:
    """Stages of the readings that a criterion leans on, in the order of the making."""
    results = batch.evidence.of(piece)
    stages = {
        results[name].stage
        for name in checks_of(criterion)
        if name in results and not isinstance(results[name], Refused)
    }
    return tuple(sorted(stages, key=STAGE_PLACE.__getitem__))


def earlier_stages(batch: Batch, piece: Piece, criterion: Criterion) -> tuple[str, ...]:
    """Those of them that the piece has left behind: its figures are of softer clay."""
    now = STAGE_PLACE[piece.stage]
    stages = stages_read(batch, piece, criterion)
    return tuple(stage for stage in stages if STAGE_PLACE[stage] < now)
