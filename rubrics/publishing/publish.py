"""Publish the finished assessments of a batch, and freeze what each of them showed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from rubrics.evidence.check_facts import facts_by_check
from rubrics.judging.batch import Batch, load_batch
from rubrics.models import Assessment, Criterion, Level, Mark, NextStep
from rubrics.reports import sentences
from rubrics.reports.shown import SHOWN_FORMAT, PublishedAssessment, ShownCheck, ShownCriterion
from rubrics.reports.step_choice import as_dict, choose, step_said
from studio.models import Photo, Piece, Project
from studio.ware.stages import STAGE_PLACE

# An agreed accommodation is between the teacher and the student: it is never shown or printed.
SAID_TO_STUDENT = {
    Mark.Reason.SEEN: "Seen on the piece, not in the readings",
    Mark.Reason.WRONG_READING: "A reading was wrong or missing",
    Mark.Reason.MENDED: "Mended since it was measured",
    Mark.Reason.DESIGN: "Meant so: part of your design",
    Mark.Reason.KILN: "The kiln's doing, not yours",
    Mark.Reason.OTHER: "",
}
MOST_STEPS = 3
"""Nobody takes up more than three things at once (our choice)."""
STEP_LENGTH = NextStep._meta.get_field("text").max_length
NAMED_PIECES = 5
"""So many pieces a refusal names before it counts the rest."""


class PublishRefused(ValueError):  # noqa: N818  the name is what a view asks for
    """Nothing was published; the message says which pieces lack what."""


@dataclass(frozen=True, slots=True)
class Published:
    """What :func:`publish` did."""

    pieces: tuple[Piece, ...]
    already: tuple[Piece, ...]


@transaction.atomic
def publish(project: Project, by, pieces: Iterable[Piece] | None = None) -> Published:
    """Publish assessments and freeze what they show; all of them or none.

    Parameters
    ----------
    project : Project
    by : User
    pieces : iterable of Piece, optional
        Those to publish; every piece that is ready when left out. One already published is
        passed over.

    Raises
    ------
    PublishRefused
        A piece lacks a mark, or a mark that leaves its suggestion (or an excuse) lacks a reason.
    NoRubric
    """
    Project.objects.select_for_update().filter(pk=project.pk).values_list("pk").first()
    batch = load_batch(project)
    asked = None if pieces is None else {piece.pk for piece in pieces}
    chosen = [
        piece
        for piece in batch.pieces
        if (piece.pk in asked if asked is not None else batch.is_ready(piece))
    ]
    already = tuple(piece for piece in chosen if batch.is_published(piece))
    fresh = [piece for piece in chosen if not batch.is_published(piece)]
    _refuse_unready(batch, fresh)
    aside = _Aside.of([batch.assessments[piece.pk] for piece in fresh])
    now = timezone.now()
    for piece in fresh:
        assessment = batch.assessments[piece.pk]
        assessment.published_at, assessment.published_by = now, by
        assessment.shown = freeze(batch, piece, aside)
    rows = [batch.assessments[piece.pk] for piece in fresh]
    Assessment.objects.bulk_update(rows, ["published_at", "published_by", "shown"])
    # A step that was only proposed becomes one that the student can answer.
    NextStep.objects.bulk_create(
        NextStep(assessment=row, text=text[:STEP_LENGTH])
        for row in rows
        if row.pk not in aside.steps
        for text in row.shown["next_steps"]
    )
    Assessment.objects.filter(pk__in=[row.pk for row in rows]).update(version=F("version") + 1)
    return Published(pieces=tuple(fresh), already=already)


def _refuse_unready(batch: Batch, pieces: Sequence[Piece]) -> None:
    problems = []
    for piece in pieces:
        missing = batch.missing(piece)
        unexplained = [mark.criterion for mark in batch.marks_of(piece) if mark.wants_reason]
        if missing:
            problems.append(f"{piece} lacks {_letters(missing)}")
        elif unexplained:
            problems.append(f"{piece} lacks a reason at {_letters(unexplained)}")
    if problems:
        rest = len(problems) - NAMED_PIECES
        named = "; ".join(problems[:NAMED_PIECES]) + (f"; and {rest} more" if rest > 0 else "")
        raise PublishRefused(
            f"Nothing was published yet: {named}. Finish these, or publish without them."
        )


def _letters(criteria: Iterable[Criterion]) -> str:
    return ", ".join(f"{criterion.letter} {criterion.name}" for criterion in criteria)


@dataclass(frozen=True, slots=True)
class _Aside:
    """What stands beside the marks, by assessment or piece id, in two queries."""

    steps: Mapping[int, list[str]]
    photos: Mapping[int, list[int]]

    @classmethod
    def of(cls, assessments: Sequence[Assessment]) -> _Aside:
        """Of these assessments."""
        return cls._sorted(
            NextStep.objects.filter(assessment__in=assessments),
            Photo.objects.filter(piece__in=[each.piece_id for each in assessments]),
        )

    @classmethod
    def of_project(cls, project: Project) -> _Aside:
        """Of all the teacher's assessments of a project: no list of ids that grows."""
        return cls._sorted(
            NextStep.objects.filter(
                assessment__piece__project=project, assessment__kind=Assessment.Kind.TEACHER
            ),
            Photo.objects.filter(piece__project=project),
        )

    @classmethod
    def _sorted(cls, found: QuerySet[NextStep], taken: QuerySet[Photo]) -> _Aside:
        steps: dict[int, list[str]] = {}
        for step in found:
            steps.setdefault(step.assessment_id, []).append(step.text)
        photos: dict[int, list[int]] = {}
        rows = taken.values_list("piece_id", "pk", "stage", "view")
        for piece_id, pk, *_rest in sorted(rows, key=_photo_order):
            photos.setdefault(piece_id, []).append(pk)
        return cls(steps=steps, photos=photos)


def _photo_order(row: tuple) -> tuple:
    """The finished piece first, from the side before from above."""
    _piece_id, pk, stage, view = row
    return (-STAGE_PLACE.get(stage, -1), _VIEW_ORDER.get(view, 9), pk)


_VIEW_ORDER = {view: place for place, view in enumerate(Photo.View.values)}


def freeze(batch: Batch, piece: Piece, aside: _Aside | None = None) -> PublishedAssessment:
    """Everything the student's page and the paper show of a piece, as plain JSON.

    Draft or published alike: a preview is the same dict, not kept. ``batch`` must hold the piece.
    """
    assessment = batch.assessments.get(piece.pk)
    if aside is None:
        aside = _Aside.of([assessment] if assessment else [])
    grade = batch.grade(piece)
    facts = facts_by_check(batch.evidence, piece)
    checks: dict[str, ShownCheck] = {
        check: {
            "facts": each,
            "sentence": sentences.sentence(check, each, reader="student"),
            "next_step": sentences.next_step(check, each),
        }
        for check, each in facts.items()
    }
    day = assessment.published_at if assessment and assessment.published_at else timezone.now()
    shown: PublishedAssessment = {
        "format": SHOWN_FORMAT,
        "piece": piece.code,
        "project": batch.project.title,
        "section": str(batch.project.section),
        "student": piece.student.name,
        "date": timezone.localdate(day).isoformat(),
        "rubric": batch.rubric.name,
        "rubric_version": batch.rubric.version,
        "criteria": [_criterion(batch, piece, criterion) for criterion in batch.criteria],
        "percent": None if grade.percent is None else str(grade.percent),
        "grade": grade.label,
        "grade_from": "" if grade.edge is None else plain_number(grade.edge),
        "weight_counted": plain_number(grade.counted),
        "weight_total": plain_number(grade.total),
        "strong": "",
        "next_steps": [],
        "words": assessment.words if assessment else "",
        "checks": checks,
        "photos": aside.photos.get(piece.pk, []),
        "outcomes": [
            {
                "kind": each.kind,
                "stage": each.stage,
                "doing": each.doing,
                "severity": each.severity,
                "note": each.note,
            }
            for each in batch.evidence.outcomes.get(piece.pk, ())
        ],
    }
    shown["strong"] = sentences.strong_point(shown["criteria"], checks)
    written = aside.steps.get(assessment.pk) if assessment else None
    if written:
        shown["next_steps"] = written[:MOST_STEPS]
    elif (step := choose(shown)) is not None:
        shown["step"] = as_dict(step)
        shown["next_steps"] = [step_said(shown, step)]
    if assessment is not None and assessment.strength:
        shown["strong"] = assessment.strength
    return shown


def drafts(batch: Batch, pieces: Iterable[Piece]) -> dict[int, PublishedAssessment]:
    """What pieces would show if they were published now, by piece id; two queries for all."""
    aside = _Aside.of_project(batch.project)
    return {piece.pk: freeze(batch, piece, aside) for piece in pieces}


def own_steps_written(batch: Batch) -> dict[int, str]:
    """The next steps that the teacher wrote, by piece id, in one query."""
    rows = NextStep.objects.filter(
        assessment__piece__project=batch.project, assessment__kind=Assessment.Kind.TEACHER
    )
    return dict(rows.order_by("-pk").values_list("assessment__piece_id", "text"))


def freeze_again(assessment: Assessment, criterion: Criterion | None) -> None:
    """Renew what a published assessment shows after one change, and save it.

    The marks, the grade and the words are renewed; of the figures only those that the changed
    criterion leans on. The rest stays as it was published.
    """
    old = assessment.shown
    batch = load_batch(assessment.piece.project, pieces=[assessment.piece])
    piece = next(iter(batch.pieces))
    batch.assessments[piece.pk] = assessment
    shown = freeze(batch, piece)
    changed = _checks_of(criterion) if criterion is not None else []
    renewed = {check: each for check, each in shown["checks"].items() if check in changed}
    kept = {check: each for check, each in old["checks"].items() if check not in changed}
    shown["checks"] = kept | renewed
    shown["date"], shown["photos"] = old["date"], old["photos"]
    assessment.shown = shown
    assessment.save(update_fields=["shown"])


def _criterion(batch: Batch, piece: Piece, criterion: Criterion) -> ShownCriterion:
    mark = batch.mark(piece, criterion)
    level = mark.level if mark else None
    return {
        "letter": criterion.letter,
        "name": criterion.name,
        "group": criterion.group,
        "weight": plain_number(criterion.weight),
        "level": level.number if level else None,
        "level_name": level.name if level else "",
        "points": plain_number(level.points) if level else None,
        "top": plain_number(max(each.points for each in criterion.levels.all())),
        "descriptor": level.descriptor if level else "",
        "excused": bool(mark and mark.excused),
        "reason": reason_said(mark) if mark else "",
        "note": mark.note if mark else "",
        "suggested": mark.suggested if mark else None,
        "suggested_because": mark.suggested_because if mark else "",
        "limits": [
            {"figure": each.figure, **{bound: str(getattr(each, bound)) for bound in "abc"}}
            for each in criterion.limits.all()
        ],
        "above": _above(criterion, level),
        "checks": _checks_of(criterion),
    }


def _above(criterion: Criterion, level: Level | None) -> str:
    """What the highest level looks like; "" where it was reached, and without a level.

    The levels between mostly say what is lacking: nobody aims at "one side is plainly heavier".
    """
    if level is None:
        return ""
    highest = max(criterion.levels.all(), key=lambda each: each.number)
    return highest.descriptor if highest.number > level.number else ""


def reason_said(mark: Mark) -> str:
    """The reason as the student may read it; "" for an agreed accommodation."""
    if mark.reason == Mark.Reason.ACCESS:
        return ""
    if not (mark.excused or mark.leaves_suggestion):
        return ""
    parts = [SAID_TO_STUDENT.get(mark.reason, ""), mark.reason_text]
    return ": ".join(part for part in parts if part)


def _checks_of(criterion: Criterion) -> list[str]:
    checks = (limit.figure.partition(".")[0] for limit in criterion.limits.all())
    return list(dict.fromkeys(checks))


def plain_number(number) -> str:
    """A decimal without trailing noughts: "85", "87.5"."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
