"""Marks many at once, and taking back."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone

from rubrics.judging.batch import load_batch
from rubrics.judging.marking.errors import GradingError, Unseen
from rubrics.judging.marking.mark_record import (
    BECAUSE_LENGTH,
    STATE_FIELDS,
    count_up,
    freeze_rubric,
    guard,
    put_back,
    state_of_mark,
)
from rubrics.judging.suggestions import Suggested
from rubrics.models import Assessment, Criterion, Mark, MarkChange
from studio.models import Piece, Project

NAMED_PIECES = 6
"""So many pieces a question names before it counts the rest."""


@dataclass(frozen=True, slots=True)
class KeptRest:
    """What :func:`keep_rest` did: pieces given their suggestion, and those left.

    ``in_question`` were left for an open question, ``changed`` because the suggestion is another
    one today than the page showed.
    """

    pieces: tuple[Piece, ...]
    in_question: tuple[Piece, ...]
    changed: tuple[Piece, ...] = ()


@dataclass(frozen=True, slots=True)
class Undone:
    """What :func:`undo` walked back."""

    pieces: tuple[Piece, ...]
    criterion: Criterion
    sentence: str


@dataclass(frozen=True, slots=True)
class InSight:
    """What a page shows, by which undo knows whether to ask first.

    ``criterion`` is the only one on the page, None where it has all of them; ``here`` are the
    pieces on the page and ``seen`` those in the window. ``sure`` is the change that a person
    agreed to take back, unseen or not.
    """

    criterion: int | None = None
    here: frozenset[int] = frozenset()
    seen: frozenset[int] = frozenset()
    sure: int | None = None

    def covers(self, changes: Sequence[MarkChange], criterion: Criterion) -> bool:
        """Whether all that would be taken back is before the reader's eyes."""
        if self.sure is not None:
            return self.sure == changes[0].pk
        if self.criterion not in (None, criterion.pk):
            return False
        pieces = {change.assessment.piece_id for change in changes}
        return pieces <= (self.seen if len(changes) > 1 else self.here)


@transaction.atomic
def keep_rest(
    project: Project, criterion: Criterion, by, *, seen: Mapping[int, int] | None = None
) -> KeptRest:
    """Give every piece that has a suggestion and no mark its suggestion, undone as one.

    A piece whose readings have an open question is left for the teacher, and so is one whose
    suggestion is not the level that ``seen`` holds by piece id: nobody keeps what nobody saw. The
    number of queries grows only with what one INSERT can carry.
    """
    guard(project.pk)
    batch = load_batch(project)
    criterion = _own_criterion(batch.criteria, criterion)
    wanted: dict[int, Suggested] = {}
    left, changed = [], []
    for piece in batch.to_judge:
        suggested = batch.suggested(piece, criterion)
        if suggested is None or batch.mark(piece, criterion) or batch.is_published(piece):
            continue
        if suggested.in_question:
            left.append(piece)
        elif seen is not None and seen.get(piece.pk) != suggested.level:
            changed.append(piece)
        else:
            wanted[piece.pk] = suggested
    pieces = tuple(piece for piece in batch.pieces if piece.pk in wanted)
    if pieces:
        _keep(batch, criterion, pieces, wanted, by)
    return KeptRest(pieces=pieces, in_question=tuple(left), changed=tuple(changed))


def _keep(batch, criterion, pieces, wanted, by) -> None:
    freeze_rubric(batch.rubric)
    missing = [piece for piece in pieces if piece.pk not in batch.assessments]
    Assessment.objects.bulk_create(
        Assessment(piece=piece, rubric=batch.rubric, assessor=by) for piece in missing
    )
    assessments = {
        each.piece_id: each
        for each in Assessment.objects.by_teacher()
        .filter(piece__project=batch.project)
        .defer("shown")
    }
    levels = {level.number: level for level in criterion.levels.all()}
    fresh, empty, changes, together = [], [], [], uuid.uuid4()
    for piece in pieces:
        assessment, suggested = assessments[piece.pk], wanted[piece.pk]
        mark = batch.marks.get((piece.pk, criterion.pk))
        if mark is None:
            mark = Mark(assessment=assessment, criterion=criterion)
            fresh.append(mark)
        else:
            empty.append(mark)
        before = state_of_mark(mark)
        mark.level, mark.suggested = levels[suggested.level], suggested.level
        mark.suggested_because = suggested.why[:BECAUSE_LENGTH]
        mark.reason = mark.reason_text = ""
        changes.append((mark, assessment, before))
    Mark.objects.bulk_create(fresh)
    Mark.objects.bulk_update(
        empty, ["level", "suggested", "suggested_because", "reason", "reason_text"]
    )
    MarkChange.objects.bulk_create(
        MarkChange(
            assessment=assessment,
            mark=mark,
            version=assessment.version + 1,
            together=together,
            who=by,
            before=before,
            after=state_of_mark(mark),
        )
        for mark, assessment, before in changes
    )
    count_up([assessment.pk for _mark, assessment, _before in changes])


@transaction.atomic
def undo(project: Project, by, *, unless: InSight | None = None) -> Undone | None:
    """Walk back this person's latest change in this project; None when there is nothing left.

    Only what is not published is walked back, and only while nobody has changed the same mark
    since: their change stands.

    Raises
    ------
    Unseen
        ``unless`` is given and the change touches more than it covers.
    """
    guard(project.pk)
    later = MarkChange.objects.standing().filter(mark=OuterRef("mark"), pk__gt=OuterRef("pk"))
    mine = MarkChange.objects.undoable_by(by, project).exclude(Exists(later))
    mine = mine.select_related("mark__criterion", "mark__level", "assessment__piece")
    latest = mine.first()
    if latest is None:
        return None
    changes = [latest] if latest.together is None else list(mine.filter(together=latest.together))
    criterion = latest.mark.criterion
    if unless is not None and not unless.covers(changes, criterion):
        raise _unseen(changes, criterion)
    levels = {level.number: level for level in criterion.levels.all()}
    now = timezone.now()
    for change in changes:
        put_back(change.mark, change.before, levels)
        change.undone_at = now
        # A window that still shows the undone level is behind: the count tells it so.
        change.version = change.assessment.version + 1
    Mark.objects.bulk_update([change.mark for change in changes], STATE_FIELDS)
    MarkChange.objects.bulk_update(changes, ["undone_at", "version"])
    count_up([change.assessment_id for change in changes])
    pieces = tuple(change.assessment.piece for change in changes)
    return Undone(pieces, criterion, _undone_sentence(changes, criterion))


def _own_criterion(criteria, criterion: Criterion) -> Criterion:
    own = next((each for each in criteria if each.pk == criterion.pk), None)
    if own is None:
        raise GradingError("This criterion is not of the rubric by which the project is judged.")
    return own


def _unseen(changes: list[MarkChange], criterion: Criterion) -> Unseen:
    codes = sorted(change.assessment.piece.code for change in changes)
    if len(changes) > 1:
        words = f"Take back {len(changes)} levels that were kept together?"
    else:
        words = f"Take back {_said(changes[0].after)} of {codes[0]}?"
    named = ", ".join(codes[:NAMED_PIECES])
    more = len(codes) - NAMED_PIECES
    rest = f" and {more} more" if more > 0 else ""
    detail = f"{criterion}: {named}{rest}. Not all of it is in sight here."
    return Unseen(words=words, detail=detail, latest=changes[0].pk)


def _undone_sentence(changes: list[MarkChange], criterion: Criterion) -> str:
    if len(changes) > 1:
        return f"{criterion}: {len(changes)} kept levels taken back."
    change = changes[0]
    now, was = _said(change.before), _said(change.after)
    return f"{change.assessment.piece} {criterion}: {was} taken back, now {now}."


def _said(state: dict) -> str:
    if state["excused"]:
        return "excused"
    return "no level" if state["level"] is None else f"level {state['level']}"
