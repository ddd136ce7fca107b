"""What a feedback page shows besides the levels: the student's own judgement, the next steps and
the piece before."""

from __future__ import annotations

from dataclasses import dataclass

from rubrics.judging.self_judging import own_assessment
from rubrics.models import Assessment, NextStep
from studio import access
from studio.models import Photo, Piece
from studio.projects import piece_sheet


@dataclass(frozen=True, slots=True)
class OwnLevel:
    """The level a student gave the own piece on one criterion."""

    number: int
    name: str


@dataclass(frozen=True, slots=True)
class FeedbackContext:
    """Own levels by the criterion's letter, own words, steps, and the piece before."""

    levels: dict[str, OwnLevel]
    worked: str
    to_try: str
    steps: list[NextStep]
    earlier: Piece | None
    earlier_photo: Photo | None


def feedback_context(user, piece: Piece, assessment: Assessment | None) -> FeedbackContext:
    """Collect the context of one piece's feedback page; seven queries at most."""
    own = own_assessment(piece)
    levels = {}
    if own and (assessment is None or own.rubric_id == assessment.rubric_id):
        levels = {
            mark.criterion.letter: OwnLevel(mark.level.number, mark.level.name)
            for mark in own.marks.all()
            if mark.level
        }
    tried = next(iter(own.next_steps.all()), None) if own else None
    is_published = assessment is not None and assessment.published_at is not None
    earlier = _earlier(user, piece)
    photos = piece_sheet.photos_of(earlier) if earlier else []
    return FeedbackContext(
        levels=levels,
        worked=own.words if own else "",
        to_try=tried.text if tried else "",
        steps=list(assessment.next_steps.all()) if is_published else [],
        earlier=earlier,
        earlier_photo=photos[0] if photos else None,
    )


def _earlier(user, piece: Piece) -> Piece | None:
    """The same student's latest piece of a project before this one whose marks are published."""
    return (
        access.pieces(user)
        .filter(
            student=piece.student_id,
            project__number__lt=piece.project.number,
            assessments__kind=Assessment.Kind.TEACHER,
            assessments__published_at__isnull=False,
        )
        .select_related("project")
        .order_by("-project__number", "-pk")
        .first()
    )
