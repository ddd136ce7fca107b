"""A teacher's last look at a batch before it is published: as a whole, and piece by piece."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from rubrics.judging.batch import Batch
from rubrics.judging.grade import Grade
from rubrics.judging.piece_state import checks_of, earlier_stages
from rubrics.judging.suggestions import Suggested
from rubrics.models import Criterion, Mark
from studio.models import Outcome, Piece
from studio.ware.outcomes import SOUND


@dataclass(frozen=True, slots=True)
class MarkToReview:
    """One mark to look at again."""

    piece: Piece
    criterion: Criterion
    mark: Mark
    suggested: Suggested | None
    """What the checks suggest today."""


@dataclass(frozen=True, slots=True)
class LastLook:
    """One piece as it would be published, and what speaks for looking again.

    ``missing`` are criteria without a mark, ``unreasoned`` marks whose reason is missing,
    ``overruled`` those that leave their suggestion, ``moved`` those whose suggestion is another one
    today. ``unmeasured`` lean on a check that nobody measured; ``earlier`` on readings of a stage
    that the piece has left behind. ``unruled`` are outcomes of which nobody said whose doing.
    """

    piece: Piece
    grade: Grade
    is_sent: bool
    is_ready: bool
    missing: Sequence[Criterion]
    unreasoned: Sequence[MarkToReview]
    overruled: Sequence[MarkToReview]
    moved: Sequence[MarkToReview]
    in_question: Sequence[Criterion]
    unmeasured: Sequence[Criterion]
    earlier: Sequence[tuple[Criterion, tuple[str, ...]]]
    outcomes: Sequence[Outcome]

    @property
    def unruled(self) -> list[Outcome]:
        return [each for each in self.to_rule if each.doing == Outcome.Doing.UNCLEAR]

    @property
    def to_rule(self) -> list[Outcome]:
        """Outcomes that are somebody's doing; a sound piece is nobody's fault."""
        return [each for each in self.outcomes if each.kind != SOUND]


@dataclass(frozen=True, kw_only=True)
class LookOver:
    """The batch as a whole.

    ``spread`` counts the finished pieces by grade label (or by tens of per cent without a scale),
    best first; ``levels`` by criterion id and level number. ``rows`` has every piece that can be
    judged, published or not.
    """

    spread: Sequence[tuple[str, int]]
    levels: Mapping[int, Mapping[int, int]]
    rows: Sequence[LastLook]

    @property
    def ready(self) -> list[Piece]:
        return [row.piece for row in self.rows if row.is_ready]

    @property
    def published(self) -> list[Piece]:
        return [row.piece for row in self.rows if row.is_sent]

    @property
    def unfinished(self) -> list[tuple[Piece, Sequence[Criterion]]]:
        return [(row.piece, row.missing) for row in self.rows if row.missing]

    @property
    def disagreements(self) -> list[MarkToReview]:
        """Every mark that leaves its suggestion, published or not."""
        return [look for row in self.rows for look in row.overruled]

    @property
    def reasons_missing(self) -> list[MarkToReview]:
        return [look for row in self.rows for look in row.unreasoned]

    @property
    def moved(self) -> list[MarkToReview]:
        """Marks that are not published and whose suggestion is another one today."""
        return [look for row in self.rows if not row.is_sent for look in row.moved]

    @property
    def in_question(self) -> list[tuple[Piece, Criterion]]:
        rows = [row for row in self.rows if not row.is_sent]
        return [(row.piece, criterion) for row in rows for criterion in row.in_question]


def look_over(batch: Batch) -> LookOver:
    """All there is to see before publishing."""
    pieces = batch.to_judge
    return LookOver(
        spread=_spread(batch, [piece for piece in pieces if not batch.missing(piece)]),
        levels={
            criterion.pk: Counter(
                mark.level.number
                for piece in pieces
                if (mark := batch.mark(piece, criterion)) is not None and not mark.excused
            )
            for criterion in batch.criteria
        },
        rows=[last_look(batch, piece) for piece in pieces],
    )


def last_look(batch: Batch, piece: Piece) -> LastLook:
    """The last look at one piece."""
    looks = [
        MarkToReview(piece, mark.criterion, mark, batch.suggested(piece, mark.criterion))
        for mark in batch.marks_of(piece)
    ]
    stages = [(each, earlier_stages(batch, piece, each)) for each in batch.criteria]
    is_sent = batch.is_published(piece)
    return LastLook(
        piece=piece,
        grade=batch.grade(piece),
        is_sent=is_sent,
        is_ready=batch.is_ready(piece),
        missing=batch.missing(piece),
        unreasoned=[look for look in looks if not is_sent and look.mark.wants_reason],
        overruled=[look for look in looks if look.mark.leaves_suggestion],
        moved=[look for look in looks if _is_moved(look)],
        in_question=[
            look.criterion for look in looks if look.suggested and look.suggested.in_question
        ],
        unmeasured=[
            each
            for each in batch.criteria
            if checks_of(each) and batch.suggested(piece, each) is None
        ],
        earlier=[(each, found) for each, found in stages if found],
        outcomes=batch.evidence.outcomes.get(piece.pk, ()),
    )


def _is_moved(look: MarkToReview) -> bool:
    today = look.suggested.level if look.suggested else None
    return not look.mark.excused and today != look.mark.suggested


def _spread(batch: Batch, finished: Iterable[Piece]) -> list[tuple[str, int]]:
    grades = [grade for piece in finished if (grade := batch.grade(piece)).percent is not None]
    if batch.bands:
        counts = Counter(grade.label for grade in grades)
        spread = [(band.label, counts[band.label]) for band in batch.bands]
        return spread + ([("below the scale", counts[""])] if counts[""] else [])
    tens = Counter(min(int(grade.percent // 10), 9) for grade in grades)
    return [(f"{ten * 10} to {ten * 10 + 10} %", tens[ten]) for ten in range(9, -1, -1)]
