"""The teacher's words and the one next step."""

from __future__ import annotations

from django.db import transaction

from rubrics.judging.marking.errors import GradingError, Stale
from rubrics.judging.marking.mark_record import (
    STEP_LENGTH,
    STRENGTH_LENGTH,
    WORDS_LENGTH,
    record_late,
    refuse_without_why,
)
from rubrics.judging.marking.marks import open_assessment
from rubrics.models import Assessment, NextStep
from studio.models import Piece

LONGEST = {
    "next_step": (STEP_LENGTH, "A next step"),
    "words": (WORDS_LENGTH, "What you wrote"),
    "strength": (STRENGTH_LENGTH, "What is strong"),
}


@transaction.atomic
def set_words(
    piece: Piece,
    by,
    *,
    words: str,
    next_step: str,
    seen_words: str,
    seen_next_step: str,
    strength: str | None = None,
    seen_strength: str = "",
    why: str = "",
) -> Assessment:
    """Save the teacher's words, what is strong and the one next step.

    ``seen_words``, ``seen_strength`` and ``seen_next_step`` are what the page showed when it was
    opened: where somebody wrote other words since, :class:`Stale` is raised and nothing is
    overwritten. A level set meanwhile does not stand in the way. A ``strength`` of None is left as
    it is.
    """
    wanted = {"words": words.strip(), "next_step": next_step.strip()}
    seen = {"words": seen_words.strip(), "next_step": seen_next_step.strip()}
    if strength is not None:
        wanted["strength"], seen["strength"] = strength.strip(), seen_strength.strip()
    _refuse_long(wanted)
    assessment = open_assessment(piece, by)
    step = assessment.next_steps.first()
    stand = {"words": assessment.words, "next_step": step.text if step else ""}
    if strength is not None:
        stand["strength"] = assessment.strength
    if wanted == stand:
        return assessment
    if stand != seen:
        raise Stale(theirs=stand, mine=wanted, version=assessment.version)
    refuse_without_why(assessment, why)
    assessment.words = wanted["words"]
    assessment.strength = wanted.get("strength", assessment.strength)
    assessment.version += 1
    assessment.save(update_fields=["words", "strength", "version"])
    _set_step(assessment, step, wanted["next_step"])
    if assessment.published_at is not None:
        record_late(assessment, None, by, before=stand, after=wanted, why=why)
    return assessment


def _refuse_long(wanted: dict) -> None:
    for name, text in wanted.items():
        longest, what = LONGEST.get(name, (None, ""))
        if longest is not None and len(text) > longest:
            raise GradingError(f"{what} fits in {longest} characters; this has more.")


def _set_step(assessment: Assessment, step: NextStep | None, text: str) -> None:
    if not text and step:
        step.delete()
    elif step and step.text != text:
        step.text = text
        step.save(update_fields=["text"])
    elif text and not step:
        assessment.next_steps.create(text=text)


@transaction.atomic
def add_next_step(assessment: Assessment, text: str) -> NextStep:
    """Add one more thing to try, to an assessment that is not published yet."""
    text = text.strip()
    if not text or len(text) > STEP_LENGTH:
        raise GradingError(f"A next step needs 1 to {STEP_LENGTH} characters.")
    if assessment.published_at is not None:
        raise GradingError("This assessment is published: change its next step with a why.")
    return assessment.next_steps.create(text=text)
