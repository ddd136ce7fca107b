"""Writes to pieces and their outcomes. Each write is whole or not at all."""

import re
from collections import Counter
from collections.abc import Iterable
from itertools import chain

from django.db import transaction
from django.db.models import Count, Exists, OuterRef
from django.db.models.functions import Lower, Substr, Upper
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


LETTERS = "ABCDEFGHJKMNPRSTUVWXYZ"
"""Of sections, at the head of their codes: I, L, O and Q are taken for figures or for one another
when they are scratched into clay (common practice, no source)."""
_HEAD = re.compile(r"([A-Z]+)[0-9]")
LONGEST_HEAD = 3
"""Two letters and a figure."""


def propose_prefix(project: Project) -> str:
    """How a project's codes begin: a letter of its section, unlike those of other sections in the
    house, and the project's number."""
    own, elsewhere = Counter(), set()
    begun = Piece.objects.annotate(head=Substr(Upper("code"), 1, LONGEST_HEAD))
    counted = begun.values_list("section", "head").annotate(count=Count("pk"))
    for section, text, count in counted.order_by():
        if head := _HEAD.match(text):
            if section == project.section_id:
                own[head[1]] += count
            else:
                elsewhere.add(head[1])
    if own:
        letter = own.most_common(1)[0][0]
    else:
        pairs = (a + b for a in LETTERS for b in LETTERS)
        letter = next(each for each in chain(LETTERS, pairs) if each not in elsewhere)
    return f"{letter}{project.number}-"


def why_taken(
    section: Section, codes: Iterable[str], *, but: Piece | None = None
) -> dict[str, str]:
    """Why a code cannot be given, by the code in small letters; a piece of any class in the house
    has it. One query."""
    asked = [code.casefold() for code in codes]
    rows = Piece.objects.annotate(small=Lower("code")).filter(small__in=asked)
    told = {}
    for small, where in rows.exclude(pk=but and but.pk).values_list("small", "section"):
        own = where == section.pk
        if own or small not in told:
            told[small] = "this section" if own else "another class in the house"
    return told


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
