"""Marks one at a time: levels, reasons, excuses."""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction

from rubrics.judging.batch import load_batch, rubric_of
from rubrics.judging.marking.errors import GradingError, ReasonWanted
from rubrics.judging.marking.mark_record import (
    BECAUSE_LENGTH,
    check_reason,
    freeze_rubric,
    guard,
    record_late,
    refuse_stale,
    refuse_without_why,
    state_of_mark,
)
from rubrics.judging.suggestions import Suggested
from rubrics.models import Assessment, Criterion, Mark, MarkChange
from studio.models import Piece


@transaction.atomic
def open_assessment(piece: Piece, by) -> Assessment:
    """The teacher's assessment of a piece, begun now if there is none; freezes the rubric.

    Raises
    ------
    NoRubric
        The project has no rubric yet.
    """
    # The project's row stands guard: two windows never begin the same assessment twice.
    guard(piece.project_id)
    found = Assessment.objects.by_teacher().filter(piece=piece).first()
    if found is not None:
        return found
    rubric = rubric_of(piece.project)
    freeze_rubric(rubric)
    return Assessment.objects.create(piece=piece, rubric=rubric, assessor=by)


def set_level(
    piece: Piece,
    criterion: Criterion,
    level_number: int,
    by,
    *,
    expected_version: int,
    reason: str = "",
    reason_text: str = "",
    note: str | None = None,
    why: str = "",
) -> Mark:
    """Give a piece a level on one criterion; saved at once, with the suggestion as it stands.

    Parameters
    ----------
    piece, criterion : Piece, Criterion
        The criterion must belong to the rubric by which the piece is judged.
    level_number : int
        4 (best) to 1.
    by : User
    expected_version : int
        The assessment's version that the page showed; 0 before the first mark.
    reason, reason_text : str
        Why the level leaves the suggestion, where it does: a key of ``Mark.Reason``, free text.
        Left out, an earlier reason stays as long as the level leaves on the same side.
    note : str, optional
        For the student; None leaves it as it is.
    why : str
        Why a published mark is changed.

    Returns
    -------
    Mark
        With ``assessment`` (its new ``version``) and ``level``; ``wants_reason`` says whether to
        ask.

    Raises
    ------
    Stale, WhyWanted, ReasonWanted, GradingError, NoRubric
    """
    level = next((each for each in criterion.levels.all() if each.number == level_number), None)
    if level is None:
        raise GradingError(f"“{criterion.name}” has no level {level_number}; it has 1 to 4.")
    suggested = _suggested(piece, criterion)

    def change(mark: Mark) -> None:
        old = mark.level.number if mark.level else None
        mark.level, mark.excused = level, False
        mark.suggested = suggested.level if suggested else None
        mark.suggested_because = suggested.why[:BECAUSE_LENGTH] if suggested else ""
        if reason or reason_text or not _same_side(old, level_number, mark.suggested):
            mark.reason, mark.reason_text = reason, reason_text

    return _write(piece, criterion, by, change, expected_version, note=note, why=why)


def excuse(
    piece: Piece,
    criterion: Criterion,
    by,
    *,
    expected_version: int,
    reason: str = "",
    reason_text: str = "",
    note: str | None = None,
    why: str = "",
) -> Mark:
    """Leave a criterion out of the grade; it leaves both sums. Parameters as in `set_level`."""

    def change(mark: Mark) -> None:
        if not mark.excused or reason or reason_text:
            mark.reason, mark.reason_text = reason, reason_text
        mark.level, mark.excused = None, True

    return _write(piece, criterion, by, change, expected_version, note=note, why=why)


def clear_mark(
    piece: Piece, criterion: Criterion, by, *, expected_version: int, why: str = ""
) -> Mark:
    """Take a mark away; its note stays. A published mark is changed or excused, never cleared."""

    def change(mark: Mark) -> None:
        if mark.assessment.published_at is not None:
            raise GradingError("A published mark is not taken away: change it, or excuse it.")
        mark.level, mark.excused, mark.suggested = None, False, None
        mark.reason = mark.reason_text = mark.suggested_because = ""

    return _write(piece, criterion, by, change, expected_version, why=why)


def give_reason(
    piece: Piece,
    criterion: Criterion,
    by,
    *,
    expected_version: int,
    reason: str | None = None,
    reason_text: str | None = None,
    note: str | None = None,
    why: str = "",
) -> Mark:
    """Say why a mark is as it is, or write the student a note; None leaves a field as it is."""

    def change(mark: Mark) -> None:
        mark.reason = mark.reason if reason is None else reason
        mark.reason_text = mark.reason_text if reason_text is None else reason_text

    return _write(piece, criterion, by, change, expected_version, note=note, why=why)


# -- how a write goes ----------------------------------------------------------------------------


@transaction.atomic
def _write(
    piece: Piece,
    criterion: Criterion,
    by,
    change: Callable[[Mark], None],
    expected_version: int,
    *,
    note: str | None = None,
    why: str = "",
) -> Mark:
    opened = open_assessment(piece, by)
    assessment = Assessment.objects.select_for_update().get(pk=opened.pk)
    assessment.piece = piece
    if criterion.rubric_id != assessment.rubric_id:
        raise GradingError("This criterion is not of the rubric by which the piece is judged.")
    mark = assessment.marks.select_related("level").filter(criterion=criterion).first()
    mark = mark or Mark()
    mark.assessment, mark.criterion = assessment, criterion
    before = state_of_mark(mark)
    change(mark)
    if note is not None:
        mark.note = note.strip()
    check_reason(mark)
    after = state_of_mark(mark)
    if after == before:
        return mark
    refuse_stale(assessment, mark, expected_version, theirs=before, mine=after)
    refuse_without_why(assessment, why)
    if assessment.published_at is not None and mark.wants_reason:
        raise ReasonWanted("This level leaves what the checks suggest: add a short reason.")
    mark.save()
    assessment.version += 1
    assessment.save(update_fields=["version"])
    if assessment.published_at is not None:
        record_late(assessment, mark, by, before=before, after=after, why=why)
    else:
        MarkChange.objects.create(
            assessment=assessment,
            mark=mark,
            version=assessment.version,
            who=by,
            before=before,
            after=after,
        )
    return mark


def _suggested(piece: Piece, criterion: Criterion) -> Suggested | None:
    return load_batch(piece.project, pieces=[piece]).suggested(piece, criterion)


def _same_side(old: int | None, new: int, suggested: int | None) -> bool:
    """Whether both levels leave the suggestion on the same side, so that the reason still holds."""
    if old is None or suggested is None or suggested in (new, old):
        return old == new
    return (old > suggested) == (new > suggested)
