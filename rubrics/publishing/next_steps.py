"""Next steps as their student answers them: taken up, and in own words what will be tried."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from rubrics.judging.marking.errors import GradingError
from rubrics.models import Assessment, NextStep
from studio import access
from studio.models import Piece

REPLY_LENGTH = NextStep._meta.get_field("reply").max_length


def own_steps(user):
    """Published steps of this user's own pieces."""
    return NextStep.objects.filter(
        assessment__kind=Assessment.Kind.TEACHER,
        assessment__published_at__isnull=False,
        assessment__piece__in=access.own_pieces(user),
    )


def published_steps(user):
    """Published steps that this user may read: of own pieces, or of others' as a grown-up."""
    return NextStep.objects.filter(
        assessment__kind=Assessment.Kind.TEACHER,
        assessment__published_at__isnull=False,
        assessment__piece__in=access.pieces(user),
    )


@transaction.atomic
def answer_step(step: NextStep, *, taken_up: bool, reply: str) -> NextStep:
    """Keep what a student answers to a step; the day of taking it up stays the first one."""
    reply = reply.strip()
    if len(reply) > REPLY_LENGTH:
        raise GradingError(f"Your answer fits in {REPLY_LENGTH} characters; this has more.")
    step.reply = reply
    step.taken_up_at = (step.taken_up_at or timezone.now()) if taken_up else None
    step.save(update_fields=["reply", "taken_up_at"])
    return step


def steps_of_last_piece(pieces: Iterable[Piece], before: Piece) -> list[NextStep]:
    """The published steps of the latest piece before one, among a student's pieces."""
    earlier = [
        each
        for each in pieces
        if each.project_id != before.project_id and _order(each) < _order(before)
    ]
    for piece in sorted(earlier, key=_order, reverse=True):
        steps = list(
            NextStep.objects.filter(
                assessment__piece=piece,
                assessment__kind=Assessment.Kind.TEACHER,
                assessment__published_at__isnull=False,
            ).select_related("assessment__piece__project")
        )
        if steps:
            return steps
    return []


def _order(piece: Piece) -> tuple:
    return (piece.project.number, piece.project_id)
