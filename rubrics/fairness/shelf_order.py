"""The order in which pieces stood on the shelves: kept when it is shown, and asked for later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from rubrics.models import Criterion, ShelfOrder
from rubrics.stats.kendall import kendall_s
from studio.models import Piece, Project

KEPT_FOR = timedelta(hours=12)
"""The same order shown again within so long is the same sitting's, and is not kept twice."""

FOLLOWED = 0.5
"""Kendall's tau between the order shown and that of judging from which the first was followed: of
four pairs three were judged as they stood (our choice)."""


def record_order(
    project: Project, criterion: Criterion, reader, pieces: Sequence[Piece]
) -> ShelfOrder | None:
    """Keep the order that a shelf shows; None where it is on record already, or has no pieces."""
    order = [piece.pk for piece in pieces]
    if not order:
        return None
    known = ShelfOrder.objects.filter(project=project, criterion=criterion, reader=reader)
    last = known.order_by("-pk").first()
    if last and last.pieces == order and timezone.now() - last.shown_at < KEPT_FOR:
        return None
    return ShelfOrder.objects.create(
        project=project, criterion=criterion, reader=reader, pieces=order
    )


@dataclass(frozen=True, slots=True)
class Orders:
    """The orders that a project's shelves showed, in order of time."""

    rows: tuple[ShelfOrder, ...]

    def before(self, criterion: int, reader: int | None, at: datetime) -> list[int] | None:
        """Ids of pieces as they stood last before a moment; None where nothing was recorded."""
        for row in reversed(self.rows):
            if (row.criterion_id, row.reader_id) == (criterion, reader) and row.shown_at <= at:
                return row.pieces
        return None


def orders_of(project: Project) -> Orders:
    """All that were recorded; one query."""
    return Orders(tuple(ShelfOrder.objects.filter(project=project).order_by("pk")))


def followed(shown: Sequence[int], judged: Sequence[int]) -> bool:
    """Whether pieces were judged much as they stood; those that were not shown do not count."""
    place = {piece: at for at, piece in enumerate(shown)}
    places = [place[piece] for piece in judged if piece in place]
    pairs = len(places) * (len(places) - 1) / 2
    return pairs == 0 or kendall_s(range(len(places)), places) >= FOLLOWED * pairs
