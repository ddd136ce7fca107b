"""The piece: all criteria of one cup, its photos large, its checks drawn."""

from __future__ import annotations

import json
from dataclasses import dataclass

from django.db.models import Count
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.access import get_piece_to_judge
from rubrics.critique.counts import habits_said
from rubrics.evidence.habits import is_about_habits
from rubrics.judging.batch import Batch, NoRubric, load_batch
from rubrics.judging.kiln_excuses import ExcuseProposal, advice, proposals
from rubrics.judging.piece_state import checks_of
from rubrics.judging.self_judging import own_assessment
from rubrics.judging.suggestions import Suggested
from rubrics.models import Assessment, Criterion, Mark
from rubrics.publishing.next_steps import published_steps, steps_of_last_piece
from rubrics.publishing.publish import freeze
from rubrics.views.checks import drawn
from rubrics.views.judging import tiles
from rubrics.views.judging.choices import reasons
from rubrics.views.judging.saving import no_rubric
from studio import access
from studio.models import Piece


@dataclass(frozen=True, slots=True)
class CriterionOfPiece:
    """One row of the page: a criterion with its levels, its mark and its checks."""

    criterion: Criterion
    state: tiles.MarkState
    levels: list[drawn.LevelButton]
    suggested: Suggested | None
    why_none: str
    leans_on: str
    decided: bool
    excused: bool
    asks: bool
    reason: str
    reason_text: str
    reason_words: str
    note: str
    payload: str
    """The mark as the page's script takes it, JSON."""
    checks: list[drawn.DrawnCheck]
    kiln: ExcuseProposal | None = None
    habits: str = ""


@require_GET
def judge_piece(request, piece_id):
    """Show one piece with all its criteria."""
    piece = get_piece_to_judge(request.user, piece_id)
    project = piece.project
    try:
        batch = load_batch(project, pieces=[piece])
    except NoRubric as error:
        return no_rubric(request, project, error)
    of_kiln = proposals(batch, piece)
    outcomes = list(piece.outcomes.all())
    rows = [_row(batch, piece, each, of_kiln.get(each.pk)) for each in batch.criteria]
    leaned_on = {name for each in batch.criteria for name in checks_of(each)}
    others = [name for name in batch.evidence.of(piece) if name not in leaned_on]
    assessment = batch.assessments.get(piece.pk)
    step = assessment.next_steps.first() if assessment else None
    names = request.GET.get("names") == "1"
    context = {
        "project": project,
        "piece": piece,
        "names": names,
        "names_query": "?names=1" if names else "",
        "rows": rows,
        # Where the ring will stand: drawn open from the first, nothing moves when the script comes.
        "first_open": next((row for row in rows if not row.decided), rows[0] if rows else None),
        "done": sum(row.decided for row in rows),
        "version": batch.version(piece),
        "sent": assessment.published_at if assessment else None,
        "remarks": tiles.remarks(piece),
        "photos": tiles.photos_of(piece),
        "outcomes": outcomes,
        "advice": advice(outcomes),
        "other_checks": drawn.checks(batch, piece, others, uid="other"),
        "reasons": reasons(),
        "words": assessment.words if assessment else "",
        "next_step": step.text if step else "",
        # What the student reads as long as the teacher writes nothing there.
        "proposed_step": "" if step else next(iter(freeze(batch, piece)["next_steps"]), ""),
    }
    context |= _walk(piece, batch.criteria) | _own_words(request.user, piece)
    return TemplateResponse(request, "rubrics/judging/piece.html", context)


def _own_words(user, piece: Piece) -> dict:
    """What its maker judged, answered, and means to try."""
    own = own_assessment(piece)
    siblings = list(access.pieces(user).filter(student=piece.student).select_related("project"))
    published = published_steps(user).filter(assessment__piece=piece)
    return {
        "own": own,
        "levels": sorted(own.marks.all(), key=lambda m: m.criterion.letter) if own else [],
        "to_try": [step.text for step in own.next_steps.all()] if own else [],
        "answered": [step for step in published if step.reply or step.taken_up_at],
        "last_steps": steps_of_last_piece(siblings, piece),
    }


def _row(
    batch: Batch, piece: Piece, criterion: Criterion, kiln: ExcuseProposal | None
) -> CriterionOfPiece:
    mark = batch.mark(piece, criterion)
    suggested = batch.suggested(piece, criterion)
    state = tiles.state_of(mark, suggested, sent=batch.is_published(piece))
    stored = batch.marks.get((piece.pk, criterion.pk))
    return CriterionOfPiece(
        criterion=criterion,
        state=state,
        levels=drawn.levels(criterion, mark, suggested),
        suggested=suggested,
        why_none="" if suggested else batch.why_none(piece, criterion),
        leans_on=tiles.leans_on(criterion),
        decided=mark is not None,
        excused=bool(mark and mark.excused),
        asks=bool(mark and (mark.excused or mark.leaves_suggestion)),
        reason=mark.reason if mark else "",
        reason_text=mark.reason_text if mark else "",
        reason_words=tiles.reason_words(mark),
        # A note outlives its level.
        note=stored.note if stored else "",
        payload=json.dumps(tiles.payload_of(batch, piece, criterion)),
        checks=drawn.checks(batch, piece, checks_of(criterion), uid=f"c{criterion.pk}"),
        kiln=kiln,
        habits=habits_said(piece) if is_about_habits(criterion) else "",
    )


def _walk(piece: Piece, criteria: list[Criterion]) -> dict:
    """The pieces before and after this one, and the next unfinished, in two queries."""
    pieces = list(
        piece.project.pieces.exclude(state=Piece.State.LOST).in_order().only("code", "project")
    )
    decided = dict(
        Mark.objects.decided()
        .filter(
            assessment__piece__project=piece.project,
            assessment__kind=Assessment.Kind.TEACHER,
            criterion__in=criteria,
        )
        .values_list("assessment__piece")
        .annotate(count=Count("pk"))
    )
    here = next((at for at, each in enumerate(pieces) if each.pk == piece.pk), None)
    if here is None:
        # A lost piece can be looked at, but stands in no row.
        return {"place": "lost", "count": len(pieces)}
    after_here = pieces[here + 1 :] + pieces[:here]
    return {
        "previous": pieces[here - 1] if here > 0 else None,
        "next": pieces[here + 1] if here + 1 < len(pieces) else None,
        "unfinished": next(
            (each for each in after_here if decided.get(each.pk, 0) < len(criteria)), None
        ),
        "place": here + 1,
        "count": len(pieces),
    }
