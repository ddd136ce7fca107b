"""A student judges the own piece with the same rubric, before the teacher's marks are told.

It is kept beside the teacher's and never counts. Once the teacher's marks are published it stands
as it was: what was thought before reading is what is compared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F

from rubrics.judging.batch import rubric_of
from rubrics.judging.marking.errors import GradingError
from rubrics.judging.marking.mark_record import STEP_LENGTH, freeze_rubric, guard
from rubrics.models import Assessment, Mark
from studio.models import Piece

SELF = Assessment.Kind.SELF


@dataclass(frozen=True, slots=True)
class OwnJudgement:
    """What a student judged: levels by criterion id, what worked, what to try."""

    levels: Mapping[int, int]
    worked: str = ""
    to_try: str = ""


def own_assessment(piece: Piece) -> Assessment | None:
    """The student's own assessment of a piece, if there is one."""
    return (
        Assessment.objects.filter(piece=piece, kind=SELF, assessor=piece.student.login_id)
        .prefetch_related("next_steps", "marks__level", "marks__criterion")
        .first()
        if piece.student.login_id
        else None
    )


def own_judgement(piece: Piece) -> OwnJudgement | None:
    """What the student judged, or None."""
    found = own_assessment(piece)
    if found is None:
        return None
    step = next(iter(found.next_steps.all()), None)
    levels = {mark.criterion_id: mark.level.number for mark in found.marks.all() if mark.level}
    return OwnJudgement(levels, found.words, step.text if step else "")


def is_told(piece: Piece) -> bool:
    """Whether the teacher's marks of a piece are published."""
    return Assessment.objects.by_teacher().published().filter(piece=piece).exists()


@transaction.atomic
def judge_own(piece: Piece, by, judged: OwnJudgement) -> Assessment | None:
    """Keep a student's own judgement; an earlier one of the same student is renewed.

    None where nothing was judged: then an earlier one is taken back.

    Raises
    ------
    GradingError
        The piece is somebody else's, the teacher's marks are published, or the step is too long.
    NoRubric
        The project has no rubric yet.
    """
    if piece.student.login_id is None or piece.student.login_id != by.pk:
        raise GradingError("Only who made a piece judges it as the own one.")
    guard(piece.project_id)
    if is_told(piece):
        raise GradingError(
            "Your teacher's marks are published; your own judgement stays as it was."
        )
    if len(judged.to_try) > STEP_LENGTH:
        raise GradingError(f"What you will try fits in {STEP_LENGTH} characters; this has more.")
    rubric = rubric_of(piece.project)
    freeze_rubric(rubric)
    if not (judged.levels or judged.worked.strip() or judged.to_try.strip()):
        return _take_back(piece, by)
    assessment, _new = Assessment.objects.get_or_create(
        piece=piece, assessor=by, kind=SELF, defaults={"rubric": rubric}
    )
    if assessment.rubric_id != rubric.pk:
        # The teacher took another rubric meanwhile: levels of the former say nothing there.
        assessment.marks.all().delete()
        assessment.rubric = rubric
    assessment.words = judged.worked.strip()
    assessment.version = F("version") + 1
    assessment.save(update_fields=["rubric", "words", "version"])
    save_marks(assessment, rubric.criteria.all(), judged.levels)
    assessment.next_steps.all().delete()
    if judged.to_try.strip():
        assessment.next_steps.create(text=judged.to_try.strip())
    return assessment


def _take_back(piece: Piece, by) -> None:
    """An own judgement of nothing is none: it is taken away, and the step with it."""
    Assessment.objects.filter(piece=piece, assessor=by, kind=SELF).delete()


def save_marks(assessment: Assessment, criteria, levels: Mapping[int, int]) -> None:
    """Give an assessment these levels, by criterion id, and no others."""
    assessment.marks.all().delete()
    Mark.objects.bulk_create(
        Mark(assessment=assessment, criterion=criterion, level=level)
        for criterion in criteria
        for level in criterion.levels.all()
        if level.number == levels.get(criterion.pk)
    )
