"""What a maker makes of the remarks: an answer to each, and which one helped."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from rubrics.critique.errors import CritiqueError
from rubrics.models import Remark
from rubrics.models.critique import WHY_LENGTH
from studio.models import Photo

Answer = Remark.Answer


@dataclass(frozen=True, slots=True)
class Answered:
    """A maker's answer; the photos by id, for a change only."""

    answer: str
    why: str = ""
    before: int | None = None
    after: int | None = None
    helped: bool = False


@transaction.atomic
def answer(remark: Remark, by, said: Answered) -> Remark:
    """Keep the maker's answer; an earlier one is renewed.

    Raises
    ------
    CritiqueError
        Somebody else's piece, a remark that has not come through, no why where one is asked, or a
        photo of another piece.
    """
    piece = remark.look.shown.piece
    if piece.student.login_id is None or piece.student.login_id != by.pk:
        raise CritiqueError("Only who made the piece answers its remarks.")
    why = said.why.strip()
    if said.answer not in Answer.values:
        raise CritiqueError("Choose one: kept, changed, or not taken up.")
    if said.answer == Answer.NOT and not why:
        raise CritiqueError("Say why you do not take it up; a few words are enough.")
    if len(why) > WHY_LENGTH:
        raise CritiqueError(f"The why fits in {WHY_LENGTH} characters; this has more.")
    photos = {"before_id": None, "after_id": None}
    if said.answer == Answer.CHANGED:
        photos = {"before_id": said.before, "after_id": said.after}
        _refuse_strange(piece, [each for each in photos.values() if each is not None])
    changed = (
        Remark.objects.passed()
        .filter(pk=remark.pk)
        .update(
            answer=said.answer, why=why, helped=said.helped, answered_at=timezone.now(), **photos
        )
    )
    if not changed:
        raise CritiqueError("Your teacher has taken this remark back; there is nothing to answer.")
    remark.refresh_from_db()
    return remark


def _refuse_strange(piece, photos: list[int]) -> None:
    if len(set(photos)) != len(photos):
        raise CritiqueError("Before and after are one photo; choose two, or leave one open.")
    if Photo.objects.filter(pk__in=photos, piece=piece).count() != len(photos):
        raise CritiqueError("That photo is not one of this piece; choose another.")
