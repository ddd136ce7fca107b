"""A second look at a project's pieces: draw the sample, judge it again blind, close, settle."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import datetime, timedelta

from django.contrib.auth import get_user_model
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from rubrics.judging.batch import rubric_of
from rubrics.judging.marking import set_level
from rubrics.judging.marking.errors import GradingError
from rubrics.judging.marking.mark_record import WHY_LENGTH, guard
from rubrics.judging.self_judging import save_marks
from rubrics.models import (
    Assessment,
    Criterion,
    Mark,
    MarkChange,
    SecondLook,
    SecondLookPiece,
    Settled,
)
from rubrics.stats.sample import draw, size_for_share
from studio.models import Membership, Piece, Project, Student

PAUSE = timedelta(days=1)
"""Between the last mark a reader gave on the sample and the own second look at it: sooner, one
remembers the first (common practice, no source for pottery)."""

SEEDS = 2**31
"""Seeds are drawn below this: they fit every database's whole numbers, and are short to write."""


class SecondLookError(ValueError):
    """A sentence for the reader or the teacher: what is wrong and how to mend it."""


@transaction.atomic
def open_look(project: Project, by, *, reader, within: float, seed: int | None = None):
    """Draw a sample of the judged pieces and open it to a reader.

    Parameters
    ----------
    project : Project
    by, reader : User
        The teacher, and who looks: the same person or a colleague.
    within : float
        The precision wanted: half the width of the interval of a share, as a share.
    seed : int, optional
        Draws the same sample again.

    Returns
    -------
    SecondLook

    Raises
    ------
    SecondLookError
        This reader has a second look at the project already.
    CannotTellError
        No piece is judged whole.
    NoRubric
    """
    guard(project.pk)
    if SecondLook.objects.filter(project=project, reader=reader).exists():
        raise SecondLookError(
            "This reader has looked at the project a second time already; a third look would not "
            "be independent. Invite a colleague, or look at another project."
        )
    rubric = rubric_of(project)
    levels = first_levels(project, rubric)
    pieces = {each.pk: each for each in project.pieces.filter(pk__in=levels).order_by("code")}
    size = size_for_share(len(pieces), within)
    seed = secrets.randbelow(SEEDS) if seed is None else seed
    middles = {pk: _middle(levels[pk]) for pk in pieces}
    sample = draw(middles, size, seed=seed)
    look = SecondLook.objects.create(
        project=project,
        rubric=rubric,
        reader=reader,
        opened_by=by,
        batch=len(pieces),
        within=within,
        seed=seed,
    )
    SecondLookPiece.objects.bulk_create(
        SecondLookPiece(
            look=look,
            piece=pieces[pk],
            number=number,
            first={str(criterion): level for criterion, level in levels[pk].items()},
        )
        for number, pk in enumerate(sample.pieces, start=1)
    )
    return look


def first_levels(project: Project, rubric) -> dict[int, dict[int, int]]:
    """Levels by piece id and criterion id, of the pieces that are judged whole.

    An excused criterion has no level; a piece with all excused is left out."""
    criteria = {each.pk for each in rubric.criteria.all()}
    decided: dict[int, set[int]] = {}
    levels: dict[int, dict[int, int]] = {}
    marks = (
        Mark.objects.by_teacher()
        .decided()
        .filter(assessment__piece__project=project, criterion__in=criteria)
    )
    rows = marks.exclude(assessment__piece__state=Piece.State.LOST)
    for piece, criterion, level in rows.values_list(
        "assessment__piece", "criterion", "level__number"
    ):
        decided.setdefault(piece, set()).add(criterion)
        if level is not None:
            levels.setdefault(piece, {})[criterion] = level
    return {piece: each for piece, each in levels.items() if decided[piece] == criteria}


def _middle(levels: Mapping[int, int]) -> int:
    """The level nearest to a piece's mean: what the draw is spread over."""
    return round(sum(levels.values()) / len(levels))


def colleague_named(project: Project, username: str):
    """The colleague to invite, by the exact user name.

    Raises
    ------
    SecondLookError
        Nobody of that name, a student, or a teacher or head of the section, who can read the first
        levels.
    """
    user = get_user_model().objects.filter(username__iexact=username, is_active=True).first()
    if user is None or Student.objects.filter(login=user).exists():
        raise SecondLookError(
            f"There is no teacher with the user name “{username}”. Ask for the exact name."
        )
    if Membership.objects.filter(section=project.section_id, user=user).exists():
        name = user.get_full_name() or username
        raise SecondLookError(
            f"{name} can read this section and so the first levels. Invite somebody who cannot."
        )
    return user


def opens_at(look: SecondLook) -> datetime | None:
    """When the pause after this reader's own marks on the sample is over; None if it is."""
    last = MarkChange.objects.filter(
        who=look.reader_id, assessment__piece__in=look.places.values("piece"), mark__isnull=False
    ).aggregate(last=Max("at"))["last"]
    end = last + PAUSE if last else None
    return end if end and end > timezone.now() else None


@transaction.atomic
def judge_again(place: SecondLookPiece, by, levels: Mapping[int, int]) -> Assessment:
    """Keep the second levels of a piece, by criterion id; until the sample is closed they may be
    given anew.

    Raises
    ------
    SecondLookError
        Not this reader's, closed, too soon after the first look, or no level at all.
    """
    look = SecondLook.objects.select_for_update().get(pk=place.look_id)
    if look.reader_id != by.pk or look.closed_at is not None:
        raise SecondLookError("This second look is closed; what was judged stands.")
    if opens_at(look) is not None:
        raise SecondLookError("You judged these pieces less than a day ago. Come back later.")
    if not levels:
        raise SecondLookError("Choose a level for one criterion at least.")
    assessment, _new = Assessment.objects.get_or_create(
        piece_id=place.piece_id,
        assessor=by,
        kind=Assessment.Kind.SECOND,
        defaults={"rubric_id": look.rubric_id},
    )
    assessment.version += 1
    assessment.save(update_fields=["version"])
    save_marks(assessment, look.rubric.criteria.prefetch_related("levels"), levels)
    if place.assessment_id is None:
        place.assessment = assessment
        place.save(update_fields=["assessment"])
    return assessment


def close(look: SecondLook) -> None:
    """End a second look: its door shuts, and its result can be read."""
    SecondLook.objects.still_open().filter(pk=look.pk).update(closed_at=timezone.now())


@transaction.atomic
def settle(place: SecondLookPiece, criterion: Criterion, level: int, by, *, why: str) -> None:
    """Settle a difference: the mark becomes ``level``, and the first and second levels stay.

    Raises
    ------
    SecondLookError
        Not closed yet, no difference, settled before, or no why.
    GradingError
        As :func:`rubrics.judging.marking.set_level`.
    """
    why = why.strip()
    SecondLook.objects.select_for_update().get(pk=place.look_id)
    if place.look.closed_at is None:
        raise SecondLookError("Close the second look first: settling shows both levels.")
    if not why or len(why) > WHY_LENGTH:
        raise SecondLookError(f"Say why, in at most {WHY_LENGTH} characters.")
    second = Mark.objects.filter(
        assessment=place.assessment_id, criterion=criterion, level__isnull=False
    ).values_list("level__number", flat=True)
    first = place.first.get(str(criterion.pk))
    if first is None or not second or second[0] == first:
        raise SecondLookError("Both looks gave the same level here: there is nothing to settle.")
    if place.settled.filter(criterion=criterion).exists():
        raise SecondLookError("This difference is settled already.")
    _set_if_other(place.piece, criterion, level, by, why)
    Settled.objects.create(place=place, criterion=criterion, level=level, why=why, by=by)


def _set_if_other(piece: Piece, criterion: Criterion, level: int, by, why: str) -> None:
    """Through the door by which any mark is changed, so that it is recorded there too."""
    mark = (
        Mark.objects.by_teacher()
        .filter(assessment__piece=piece, criterion=criterion)
        .select_related("assessment", "level")
        .first()
    )
    if mark is None or mark.excused:
        raise GradingError("The mark was taken away or excused since; there is none to settle.")
    if mark.level and mark.level.number == level:
        return
    set_level(
        piece,
        criterion,
        level,
        by,
        expected_version=mark.assessment.version,
        reason=Mark.Reason.OTHER,
        reason_text=f"Second look: {why}"[: Mark._meta.get_field("reason_text").max_length],
        why=why,
    )
