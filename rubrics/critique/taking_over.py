"""Taking a remark over into the teacher's own words or the next step of a piece's feedback."""

from __future__ import annotations

from django.db import transaction

from rubrics.critique.errors import CritiqueError
from rubrics.judging.batch import NoRubric
from rubrics.judging.marking import GradingError, set_words
from rubrics.models import Assessment, Remark

TakenAs = Remark.TakenAs


@transaction.atomic
def take_over(remark: Remark, by, *, kind: str) -> Remark:
    """Put a remark's words into the feedback, without its writer's name.

    Words are added after those that stand; a next step takes an empty place only.

    Raises
    ------
    CritiqueError
        It is still being written, the feedback is published, the place is taken, or the project
        has no rubric yet.
    """
    if kind not in TakenAs.values:
        raise CritiqueError("Choose where it goes: into the words, or as the next step.")
    if remark.state == Remark.State.DRAFT:
        raise CritiqueError("This is still being written.")
    piece = remark.look.shown.piece
    found = Assessment.objects.by_teacher().filter(piece=piece).first()
    if found is not None and found.published_at is not None:
        raise CritiqueError(
            "This feedback is published. Change its words on the judging page, with a why."
        )
    step = found.next_steps.first() if found else None
    words, next_step = found.words if found else "", step.text if step else ""
    seen = {"seen_words": words, "seen_next_step": next_step}
    text = remark.text.strip()
    if kind == TakenAs.WORDS:
        if text not in words:
            words = f"{words}\n{text}".strip()
    elif next_step and next_step != text:
        raise CritiqueError(f"There is a next step already: “{next_step}”. Change it there.")
    else:
        next_step = text
    try:
        set_words(piece, by, words=words, next_step=next_step, **seen)
    except (GradingError, NoRubric) as error:
        raise CritiqueError(str(error)) from error
    Remark.objects.filter(pk=remark.pk).update(taken_as=kind)
    remark.taken_as = kind
    return remark
