"""Opening a critique: who shows what, who reads whom; absent readers replaced; closing."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field
from random import Random

from django.db import transaction
from django.utils import timezone

from rubrics.critique.errors import CritiqueError
from rubrics.critique.pairs import pairs_of
from rubrics.models import Critique, Look, Shown
from rubrics.stats.dealing import Deal, deal, kept_apart, replace_absent
from rubrics.stats.errors import CannotTellError
from studio.models import Piece, Project, Student

LARGEST_SEED = 2**31


@dataclass(frozen=True, slots=True)
class Replaced:
    """What became of the work of absent readers."""

    passed_on: int
    names: tuple[str, ...] = field(default=())


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
    """Deal the pieces to readers and keep the critique, with its seed and running order.

    Parameters
    ----------
    critique : Critique
        Not saved yet: its project, kind, readers and settings.
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
    try:
        dealt = deal(
            makers,
            readers=critique.readers,
            apart=_apart(critique.project.section),
            seed=critique.seed,
        )
        if gone:
            dealt = replace_absent(dealt, gone)
    except CannotTellError as error:
        raise CritiqueError(str(error)) from error
    critique.save()
    chance = Random(critique.seed)
    places = {piece.student: (chance.random(), piece) for piece in shown}
    order = sorted(places, key=lambda maker: places[maker][0])
    rows = {
        maker: Shown.objects.create(
            critique=critique,
            piece=places[maker][1],
            position=position,
            maker_absent=maker in gone,
        )
        for position, maker in enumerate(order, start=1)
    }
    looks = [
        Look(shown=rows[maker], reader=reader)
        for maker, readers in dealt.by_piece().items()
        for reader in readers
    ]
    # Their order must not tell a maker who wrote what.
    Look.objects.bulk_create(sorted(looks, key=lambda _: chance.random()))
    return critique


@transaction.atomic
def mark_absent(critique: Critique, absent: Iterable[Student]) -> Replaced:
    """Give what absent readers have not sent yet to others; their drafts stay on record.

    Raises
    ------
    CritiqueError
        Too few are present, or the critique is closed.
    """
    refuse_closed(critique)
    gone = set(absent)
    shown = list(_whole(critique))
    here = {each.piece.student: each for each in shown}
    away = {maker for maker, each in here.items() if each.maker_absent} | (gone & set(here))
    try:
        after = replace_absent(_as_dealt(critique, shown), away).by_piece()
    except CannotTellError as error:
        raise CritiqueError(str(error)) from error
    passed, new = [], []
    for maker, each in here.items():
        looks = each.standing
        leaving = [look for look in looks if look.reader in away and look.sent_at is None]
        had = {look.reader for look in looks}
        # A look that was sent stands, so only as many come as go.
        coming = [reader for reader in after[maker] if reader not in had]
        passed += leaving
        new += [(each, reader) for reader in coming[: len(leaving)]]
    _pass_on(passed, new)
    Shown.objects.filter(pk__in=[here[maker].pk for maker in away]).update(maker_absent=True)
    return Replaced(len(passed), tuple(sorted(student.name for student in gone)))


def _pass_on(looks: list[Look], new: list[tuple[Shown, Student]]) -> None:
    Look.objects.filter(pk__in=[look.pk for look in looks]).update(passed_on_at=timezone.now())
    for shown, reader in new:
        look, fresh = Look.objects.get_or_create(shown=shown, reader=reader)
        if not fresh:
            # Passed on once, and now back with the same reader.
            look.passed_on_at = None
            look.save(update_fields=["passed_on_at"])


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


def _whole(critique: Critique):
    """The shown pieces with ``standing``, the looks that were not passed on; two queries."""
    shown = list(critique.shown.select_related("piece__student"))
    looks: dict[int, list[Look]] = {each.pk: [] for each in shown}
    rows = Look.objects.standing().filter(shown__critique=critique).select_related("reader")
    for look in rows:
        looks[look.shown_id].append(look)
    for each in shown:
        each.standing = looks[each.pk]
    return shown


def _as_dealt(critique: Critique, shown: list[Shown]) -> Deal:
    makers = tuple(each.piece.student for each in shown)
    return Deal(
        makers=makers,
        readers=tuple(tuple(look.reader for look in each.standing) for each in shown),
        apart=kept_apart(makers, _apart(critique.project.section)),
        seed=critique.seed,
        absent=frozenset(each.piece.student for each in shown if each.maker_absent),
    )


def _apart(section) -> list[tuple[Student, Student]]:
    return [(pair.one, pair.other) for pair in pairs_of(section)]
