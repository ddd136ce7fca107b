"""Exemplars: for each level of a criterion the piece that shows its reader what it looks like.

They stand on the shelves by their code and photo alone, and only for the reader who pinned them.
"""

from __future__ import annotations

from rubrics.judging.marking.errors import GradingError
from rubrics.models import Criterion, Exemplar, Mark
from studio.models import Photo, Piece
from studio.ware.stages import STAGE_PLACE


def pin(piece: Piece, criterion: Criterion, by) -> Exemplar:
    """Pin a piece as the exemplar of the level that it stands at; the former one gives way.

    Raises
    ------
    GradingError
        The piece has no level on this criterion.
    """
    mark = (
        Mark.objects.by_teacher()
        .filter(assessment__piece=piece, criterion=criterion, level__isnull=False)
        .select_related("level")
        .first()
    )
    if mark is None:
        raise GradingError("Give the piece a level first; then it can stand for that level.")
    exemplar, _new = Exemplar.objects.update_or_create(
        level=mark.level, pinned_by=by, defaults={"piece": piece}
    )
    return exemplar


def unpin(piece: Piece, criterion: Criterion, by) -> None:
    """Take a piece down wherever it stands for a level of this criterion."""
    Exemplar.objects.filter(piece=piece, level__criterion=criterion, pinned_by=by).delete()


def exemplars_of(criterion: Criterion, reader_id: int, pieces) -> dict[int, tuple[Piece, int]]:
    """By level number the pinned piece and its best photo's id, 0 where it has none; two queries.

    ``pieces``: those the reader may see; an exemplar of another class that was left is not shown.
    """
    pinned = list(
        Exemplar.objects.filter(
            level__criterion=criterion, pinned_by=reader_id, piece__in=pieces
        ).select_related("piece", "level")
    )
    best: dict[int, tuple] = {}
    rows = Photo.objects.filter(piece__in=[each.piece_id for each in pinned])
    for pk, piece, stage, view in rows.values_list("pk", "piece", "stage", "view"):
        rank = (STAGE_PLACE.get(stage, -1), view == Photo.View.SIDE, pk)
        best[piece] = max(best.get(piece, rank), rank)
    return {each.level.number: (each.piece, best.get(each.piece_id, (0,))[-1]) for each in pinned}
