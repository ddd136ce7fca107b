"""The teacher's words and the one next step."""

from __future__ import annotations

from django.db import transaction

from rubrics.judging.marking.errors import GradingError, Stale
from rubrics.judging.marking.mark_record import STEP_LENGTH, record_late, refuse_without_why
from rubrics.judging.marking.marks import open_assessment
from rubrics.models import Assessment, NextStep
from studio.models import Piece


@transaction.atomic
def set_words(
    piece: Piece,
    by,
    *,
    words: str,
    next_step: str,
    seen_words: str,
    seen_next_step: str,
    why: str = "",
) -> Assessment:
    """Save the teacher's words and the one next step.

    ``seen_words`` and ``seen_next_step`` are what the page showed when it was opened: where
    somebody wrote other words since, :class:`Stale` is raised and nothing is overwritten. A level
    set meanwhile does not stand in the way.
    """
    words, next_step = words.strip(), next_step.strip()
    if len(next_step) > STEP_LENGTH:
        raise GradingError(f"A next step fits in {STEP_LENGTH} characters; this has more.")
    assessment = open_assessment(piece, by)
    step = assessment.next_steps.first()
    stand = {"words": assessment.words, "next_step": step.text if step else ""}
    wanted = {"words": words, "next_step": next_step}
    if wanted == stand:
        return assessment
    if stand != {"words": seen_words.strip(), "next_step": seen_next_step.strip()}:
        raise Stale(theirs=stand, mine=wanted, version=assessment.version)
    refuse_without_why(assessment, why)
    assessment.words = words
    assessment.version += 1
    assessment.save(update_fields=["words", "version"])
    if not next_step and step:
        step.delete()
    elif step and step.text != next_step:
        step.text = next_step
        step.save(update_fields=["text"])
    elif next_step and not step:
        assessment.next_steps.create(text=next_step)
    if assessment.published_at is not None:
        record_late(assessment, None, by, before=stand, after=wanted, why=why)
    return assessment


@transaction.atomic
def add_next_step(assessment: Assessment, text: str) -> NextStep:
    """Add one more thing to try, to an assessment that is not published yet."""
    text = text.strip()
    if not text or len(text) > STEP_LENGTH:
        raise GradingError(f"A next step needs 1 to {STEP_LENGTH} characters.")
    if assessment.published_at is not None:
        raise GradingError("This assessment is published: change its next step with a why.")
    return assessment.next_steps.create(text=text)
