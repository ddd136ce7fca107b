"""Opening a critique: who shows what, who reads whom or sits with whom; closing."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from random import Random

from django.db import transaction
from django.utils import timezone

from rubrics.critique.errors import CritiqueError
from rubrics.critique.grouped import first_groups
from rubrics.critique.pairs import apart_in
from rubrics.models import Critique, Look, Shown
from rubrics.stats.dealing import deal, replace_absent
from rubrics.stats.errors import CannotTellError
from rubrics.stats.grouping import readers_at
from studio.models import Piece, Project, Student

LARGEST_SEED = 2**31


def pieces_to_show(project: Project) -> list[Piece]:
    """Pieces that can be shown, one a student: the latest that is neither lost nor broken."""
    latest = {}
    for piece in project.pieces.going_on().select_related("student").order_by("pk"):
        latest[piece.student_id] = piece
    return sorted(latest.values(), key=lambda piece: piece.code)


@transaction.atomic
def open_critique(
    critique: Critique,
    by,
    pieces: Iterable[Piece],
    *,
    absent: Iterable[Student] = (),
    seed: int | None = None,
) -> Critique:
    """Deal the pieces to readers, or the makers into groups, and keep seed and running order.

    Parameters
    ----------
    critique : Critique
        Not saved yet: its project, kind, readers or size of groups, and settings.
    pieces : iterable of Piece
        One a student, with their students fetched.
    absent : iterable of Student
        Makers who read nothing; their pieces are read all the same.
    seed : int, optional
        Drawn where it is left out.

    Raises
    ------
    CritiqueError
        Two pieces of one student, too few makers, or pairs that cannot all be kept apart.
    """
    shown = sorted(pieces, key=lambda piece: piece.code)
    makers = [piece.student for piece in shown]
    gone = set(absent)
    critique.seed = secrets.randbelow(LARGEST_SEED) if seed is None else seed
    critique.opened_by = by
    if critique.group_size:
        tables = first_groups(critique, makers, gone)
        # Of the site's two counts of readers only the groups' holds.
        critique.readers, by_piece = readers_at(tables, absent=gone)
    else:
        tables, by_piece = (), _dealt(critique, makers, gone)
    critique.save()
    chance = Random(critique.seed)
    places = {piece.student: (chance.random(), piece) for piece in shown}
    order = sorted(places, key=lambda maker: places[maker][0])
    table = {maker: at for at, those in enumerate(tables, start=1) for maker in those}
    rows = {
        maker: Shown.objects.create(
            critique=critique,
            piece=places[maker][1],
            position=position,
            maker_absent=maker in gone,
            group=table.get(maker),
        )
        for position, maker in enumerate(order, start=1)
    }
    looks = [
        Look(shown=rows[maker], reader=reader)
        for maker, readers in by_piece.items()
        for reader in readers
    ]
    # Their order must not tell a maker who wrote what.
    Look.objects.bulk_create(sorted(looks, key=lambda _: chance.random()))
    return critique


def _dealt(critique: Critique, makers, gone) -> dict[Student, tuple[Student, ...]]:
    try:
        dealt = deal(
            makers,
            readers=critique.readers,
            apart=apart_in(critique.project.section),
            seed=critique.seed,
        )
        return (replace_absent(dealt, gone) if gone else dealt).by_piece()
    except CannotTellError as error:
        raise CritiqueError(str(error)) from error


@transaction.atomic
def close(critique: Critique) -> None:
    """End the writing; makers still read and answer."""
    Critique.objects.filter(pk=critique.pk, closed_at=None).update(closed_at=timezone.now())


@transaction.atomic
def open_again(critique: Critique) -> None:
    """Let readers write again."""
    Critique.objects.filter(pk=critique.pk).update(closed_at=None)


def refuse_closed(critique: Critique) -> None:
    """Raise where the writing has ended."""
    if critique.closed_at is not None:
        raise CritiqueError("This critique is closed. What was written stands as it is.")
