"""Writes to pieces and their outcomes. Each write is whole or not at all."""

import re
from collections.abc import Iterable

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone

from studio.models import (
    Outcome,
    Piece,
    Project,
    Section,
    Stage,
    Student,
)
from studio.ware.outcomes import DEFECTS, SOUND

DIGITS_IN_A_CODE = 2


def propose_codes(section: Section, prefix: str, count: int) -> list[str]:
    """The next free codes of a section: ``prefix`` and a number of two figures."""
    taken = {code.casefold() for code in section.pieces.values_list("code", flat=True)}
    used = [
        int(match[1])
        for code in taken
        if (match := re.fullmatch(re.escape(prefix.casefold()) + r"([0-9]{1,4})", code))
    ]
    number, codes = max(used, default=0), []
    while len(codes) < count:
        number += 1
        codes.append(f"{prefix}{number:0{DIGITS_IN_A_CODE}}")
    return codes


@transaction.atomic
def begin_pieces(project: Project, codes: Iterable[tuple[Student, str]]) -> list[Piece]:
    """Create a wet piece for each student and code given."""
    today = timezone.localdate()
    return Piece.objects.bulk_create(
        Piece(
            section=project.section,
            project=project,
            student=student,
            code=code,
            stage_since=today,
        )
        for student, code in codes
    )


def move_to_stage(pieces, stage: str) -> int:
    """Say of many pieces at once that they have come to a stage; return how many moved."""
    return pieces.exclude(stage=stage).update(stage=stage, stage_since=timezone.localdate())


@transaction.atomic
def note_sound(pieces, user) -> int:
    """Note of fired pieces without an outcome at their stage that they are sound; return how many.

    What is flawed keeps its own note: a piece with any outcome at its stage is passed over.
    """
    fired = pieces.filter(stage__in=(Stage.BISQUE, Stage.GLAZED)).going_on()
    noted = Outcome.objects.filter(piece=OuterRef("pk"), stage=OuterRef("stage"))
    outcomes = Outcome.objects.bulk_create(
        Outcome(
            piece=piece, stage=piece.stage, kind=SOUND, doing=DEFECTS[SOUND].doing, noted_by=user
        )
        for piece in fired.exclude(Exists(noted))
    )
    return len(outcomes)


@transaction.atomic
def note_outcome(outcome: Outcome, user) -> Outcome:
    """Save an outcome with who noted it."""
    if outcome.pk is None:
        outcome.noted_by = user
    outcome.save()
    return outcome
